using System.Text.Json;

namespace Acquire.Recording;

/// <summary>Runs that were deleted, kept in the library's folder <c>.trash</c> until somebody empties it. Beside each lies <c>NAME.deleted.json</c>
/// with its name and when it was deleted.</summary>
public static class RunTrash
{
    /// <summary>The folder within the library.</summary>
    public const string FolderName = ".trash";

    private const string NoteEnding = ".deleted.json";

    /// <summary>Moves a run into the trash of the library that it lies in.</summary>
    /// <returns>Where it is now.</returns>
    /// <exception cref="IOException">The disk did not take it, or another program is at it all the time.</exception>
    public static string Delete(string runFolder, DateTimeOffset at)
    {
        string folder = Path.TrimEndingDirectorySeparator(Path.GetFullPath(runFolder));
        string library = Path.GetDirectoryName(folder) ?? throw new ArgumentException("A run's folder lies in a library.", nameof(runFolder));
        using IDisposable held = LibraryEditLock.Take(library, RunEditor.LockWait);
        string trash = Directory.CreateDirectory(Path.Combine(library, FolderName)).FullName;
        string name = Path.GetFileName(folder);
        string kept = Path.Combine(trash, name);
        for (int number = 2; Path.Exists(kept); number++)
            kept = Path.Combine(trash, $"{name}-{number}");
        File.Delete(kept + NoteEnding);
        using (var note = new HashedFile(kept + NoteEnding))
        {
            note.Write(JsonSerializer.SerializeToUtf8Bytes(new RunDeleted(name, at), RunJson.Deleted));
            note.Finish();
        }

        DurableFolder.Sync(trash);
        Directory.Move(folder, kept);
        DurableFolder.Sync(trash);
        DurableFolder.Sync(library);
        return kept;
    }

    /// <summary>Names in the trash, in order.</summary>
    public static IReadOnlyList<string> List(string library)
    {
        string trash = Path.Combine(library, FolderName);
        return Directory.Exists(trash) ? [.. Directory.EnumerateDirectories(trash).Select(f => Path.GetFileName(f)!).Order(StringComparer.Ordinal)] : [];
    }

    /// <summary>Brings a run back under the name that it had.</summary>
    /// <param name="library">The library.</param>
    /// <param name="name">Its name in the trash.</param>
    /// <returns>Its folder.</returns>
    /// <exception cref="RunEditException">It is not in the trash, or its name has been taken since.</exception>
    /// <exception cref="IOException">The disk did not take it, or another program is at it all the time.</exception>
    public static string Restore(string library, string name)
    {
        string root = Path.GetFullPath(library);
        string kept = Path.Combine(root, FolderName, name);
        if (name.Length == 0 || name != Path.GetFileName(name) || !Directory.Exists(kept))
            throw new RunEditException($"there is no '{name}' in the trash of {root}; there {Words(List(root))}");
        using IDisposable held = LibraryEditLock.Take(root, RunEditor.LockWait);
        string folder = Path.Combine(root, NameBefore(kept));
        if (Path.Exists(folder))
            throw new RunEditException($"there is a folder {folder} already: rename or delete that first");
        Directory.Move(kept, folder);
        DurableFolder.Sync(root);
        File.Delete(kept + NoteEnding);
        return folder;
    }

    private static string Words(IReadOnlyList<string> names) => names.Count == 0 ? "is nothing" : "are " + string.Join(", ", names);

    // A note that is lost or not to be read costs no run: the folder's name is then the one that it had, or near it.
    private static string NameBefore(string kept)
    {
        string there = Path.GetFileName(kept);
        try
        {
            string? said = JsonSerializer.Deserialize(File.ReadAllBytes(kept + NoteEnding), RunJson.Deleted)?.Run;
            return said is { Length: > 0 } && said == Path.GetFileName(said) && !said.StartsWith('.') ? said : there;
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            return there;
        }
    }
}

/// <summary>The note beside a deleted run.</summary>
internal sealed record RunDeleted(string Run, DateTimeOffset DeletedAt);
