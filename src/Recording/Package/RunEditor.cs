using System.Buffers;
using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Acquire.Recording;

/// <summary>Changes what a finished run's descriptor states of its set-up, and whether the run is to count. Each change is entered in the descriptor's <c>acquire.edits</c>; the tables
/// and all else in the descriptor stay as they are. The descriptor is replaced by one that is whole on the disk, or stays.</summary>
public static class RunEditor
{
    /// <summary>The descriptor under way; one that is found was left by a program that was cut short, and counts for nothing.</summary>
    internal const string UnfinishedName = ".datapackage.json.new";

    internal static readonly TimeSpan LockWait = TimeSpan.FromSeconds(10);
    private static readonly JsonWriterOptions Look = new() { Indented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Changes a run.</summary>
    /// <param name="runFolder">The run's folder.</param>
    /// <param name="changes">What is to be changed; what is so already is no change.</param>
    /// <param name="at">When.</param>
    /// <returns>The run's folder, which a new slug moves, and the changes that were made.</returns>
    /// <exception cref="RunFormatException">The descriptor cannot be read.</exception>
    /// <exception cref="RunEditException">A factor to be taken away is not there, the slug is none, or its folder exists.</exception>
    /// <exception cref="IOException">The disk did not take it, or another program is at it all the time.</exception>
    public static (string Folder, IReadOnlyList<RunEdit> Made) Change(string runFolder, RunChanges changes, DateTimeOffset at)
    {
        string folder = Path.TrimEndingDirectorySeparator(Path.GetFullPath(runFolder));
        string library = Path.GetDirectoryName(folder) ?? throw new ArgumentException("A run's folder lies in a library.", nameof(runFolder));
        using IDisposable held = LibraryEditLock.Take(library, LockWait);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        string target = Target(folder, library, run, changes.Slug);
        RunEdit[] made = [.. Edits(run, changes, folder, target, at).Where(e => e.From != e.To)];
        if (made.Length == 0)
            return (folder, made);
        Replace(folder, Edited(folder, run, made));
        if (target != folder)
        {
            Directory.Move(folder, target);
            DurableFolder.Sync(library);
        }

        return (target, made);
    }

    /// <summary>What a run says of what an edit speaks of, as its text; null where there is none.</summary>
    internal static string? ValueOf(RunDescriptor run, string what) => what switch
    {
        "top" => run.Setup.Top,
        "base" => run.Setup.Base,
        "cover" => run.Setup.Cover,
        "operator" => run.Setup.Operator,
        "note" => run.Setup.Note,
        RunEdit.Spoilt => run.Spoilt,
        _ => what.StartsWith(RunEdit.FactorPrefix, StringComparison.Ordinal) && run.Setup.Factors.TryGetValue(what[RunEdit.FactorPrefix.Length..], out double value)
            ? Text(value)
            : null,
    };

    private static string Text(double value) => value.ToString("R", CultureInfo.InvariantCulture);

    private static string Target(string folder, string library, RunDescriptor run, string? slug)
    {
        if (slug is null)
            return folder;
        if (slug.Length == 0 || RunName.Slug(slug) != slug)
            throw new RunEditException($"'{slug}' is no name for a folder of a run; allowed are {RunName.SlugWords}");
        string target = Path.Combine(library, RunName.WithSlug(Path.GetFileName(folder), run.StartedAt, slug));
        if (target != folder && Path.Exists(target))
            throw new RunEditException($"there is a folder {target} already; allowed is a name that makes another");
        return target;
    }

    private static IEnumerable<RunEdit> Edits(RunDescriptor run, RunChanges changes, string folder, string target, DateTimeOffset at)
    {
        RunSetup setup = run.Setup;
        foreach ((string member, string to) in changes.Texts)
            yield return new RunEdit(at, member, ValueOf(run, member) ?? throw new ArgumentException($"'{member}' is no text of a set-up."), to);
        foreach ((string name, double? to) in changes.Factors)
        {
            if (to is null && !setup.Factors.ContainsKey(name))
                throw new RunEditException($"there is no factor '{name}' to take away; there {(setup.Factors.Count == 0 ? "is none" : "are " + string.Join(", ", setup.Factors.Keys))}");
            yield return new RunEdit(at, RunEdit.FactorPrefix + name, ValueOf(run, RunEdit.FactorPrefix + name), to is { } value ? Text(value) : null);
        }

        if (changes.Spoilt is { } spoilt)
            yield return new RunEdit(at, RunEdit.Spoilt, run.Spoilt, spoilt.Length > 0 ? spoilt : null);
        yield return new RunEdit(at, RunEdit.Folder, Path.GetFileName(folder), Path.GetFileName(target));
    }

    private static byte[] Edited(string folder, RunDescriptor run, IReadOnlyList<RunEdit> made)
    {
        string path = Path.Combine(folder, DataPackageFile.FileName);
        JsonNode package = Parse(path);
        JsonNode acquire = package["acquire"]!;
        JsonNode setup = acquire["setup"]!;
        RunSetup after = run.Setup;
        foreach (RunEdit edit in made)
        {
            if (edit.What == RunEdit.Folder)
                package["name"] = edit.To!.ToLowerInvariant();
            else if (edit.What.StartsWith(RunEdit.FactorPrefix, StringComparison.Ordinal))
                SetFactor(setup, edit.What[RunEdit.FactorPrefix.Length..], edit.To);
            else if (edit.What == RunEdit.Spoilt)
                SetOrRemove(acquire.AsObject(), edit.What, edit.To);
            else
                setup[edit.What] = edit.To;
            if (edit.What == "top")
                after = after with { Top = edit.To! };
        }

        if ((string?)package["title"] == DataPackageText.Title(run))
            package["title"] = DataPackageText.Title(run with { Setup = after });
        acquire["edits"] = JsonSerializer.SerializeToNode([.. run.Edits ?? [], .. made], RunJson.Edits);
        var buffer = new ArrayBufferWriter<byte>();
        using (var writer = new Utf8JsonWriter(buffer, Look))
            package.WriteTo(writer);
        buffer.Write("\n"u8);
        return buffer.WrittenSpan.ToArray();
    }

    private static JsonNode Parse(string path)
    {
        try
        {
            return JsonNode.Parse(File.ReadAllBytes(path), null, new JsonDocumentOptions { AllowDuplicateProperties = false })!;
        }
        catch (JsonException e)
        {
            string place = e.LineNumber is { } line ? $"line {line + 1}" : "";
            throw new RunFormatException(path, place, e.Message.TrimEnd('.'), "a run's descriptor with each member once", e);
        }
    }

    private static void SetOrRemove(JsonObject of, string name, string? text)
    {
        if (text is null)
            of.Remove(name);
        else
            of[name] = text;
    }

    private static void SetFactor(JsonNode setup, string name, string? text)
    {
        JsonObject factors = setup["factors"]!.AsObject();
        if (text is null)
            factors.Remove(name);
        else
            factors[name] = double.Parse(text, CultureInfo.InvariantCulture);
    }

    private static void Replace(string folder, byte[] descriptor)
    {
        string path = Path.Combine(folder, DataPackageFile.FileName);
        string unfinished = Path.Combine(folder, UnfinishedName);
        File.Delete(unfinished);
        try
        {
            using (var file = new HashedFile(unfinished))
            {
                if (!OperatingSystem.IsWindows())
                    File.SetUnixFileMode(unfinished, File.GetUnixFileMode(path));
                file.Write(descriptor);
                file.Finish();
            }

            File.Move(unfinished, path, overwrite: true);
        }
        catch
        {
            File.Delete(unfinished);
            throw;
        }

        DurableFolder.Sync(folder);
    }
}

/// <summary>A change to a run that cannot be made as it was asked for: what was asked and what is allowed.</summary>
public sealed class RunEditException(string message) : Exception(message);
