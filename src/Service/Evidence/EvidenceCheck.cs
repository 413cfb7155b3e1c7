using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Acquire.Recording;
using Acquire.Service.Runs;

namespace Acquire.Service.Evidence;

/// <summary>Checks an evidence against itself and against its run.</summary>
internal sealed class EvidenceCheck
{
    private readonly string _name;
    private readonly byte[] _bytes;
    private readonly string _text;
    private readonly JsonElement? _part;

    private EvidenceCheck(string file)
    {
        _name = Path.GetFileName(file);
        _bytes = File.ReadAllBytes(file);
        _text = Encoding.UTF8.GetString(_bytes);
        _part = Part(_text);
        RunName = _part is { ValueKind: JsonValueKind.Object } part && part.TryGetProperty("run", out JsonElement run) && run.ValueKind == JsonValueKind.String ? run.GetString()! : "";
    }

    /// <summary>Name of the run that it is of; empty where it cannot be read.</summary>
    public string RunName { get; }

    /// <summary>What is wrong.</summary>
    public List<RunProblem> Problems { get; } = [];

    /// <summary>Reads an evidence.</summary>
    /// <returns>Null where a file is none, and shows no sign of having been one.</returns>
    public static EvidenceCheck? Read(string file)
    {
        var check = new EvidenceCheck(file);
        return check._part is not null || check._text.Contains(EvidencePage.PartName, StringComparison.Ordinal) || check._text.Contains(EvidencePage.HashKey, StringComparison.Ordinal) ? check : null;
    }

    /// <summary>Checks it without its run: every byte of it against its own hash.</summary>
    public void Itself()
    {
        int at = _text.IndexOf(EvidencePage.HashKey, StringComparison.Ordinal);
        if (_part is null || at < 0)
        {
            Add("holds no figures for programs that can be read: it was changed");
            return;
        }

        byte[] copy = [.. _bytes];
        int from = copy.AsSpan().IndexOf(Encoding.UTF8.GetBytes(EvidencePage.HashKey)) + EvidencePage.HashKey.Length;
        if (copy.Length < from + EvidencePage.HashDigits)
        {
            Add("is cut short");
            return;
        }

        string stated = Encoding.UTF8.GetString(copy, from, EvidencePage.HashDigits);
        copy.AsSpan(from, EvidencePage.HashDigits).Fill((byte)'0');
        string found = Convert.ToHexStringLower(SHA256.HashData(copy));
        if (stated != found)
            Add($"was changed: its content has the SHA-256 {found}, it states {stated}");
    }

    /// <summary>Checks it against its run: the hash of each file, each figure worked out anew, and what its page tells people.</summary>
    /// <param name="folder">The run's folder.</param>
    /// <returns>What could not be checked, or null.</returns>
    public string? Against(string folder)
    {
        Problems.AddRange(RunVerifier.Verify(folder));
        if (_part is not { } part)
            return null;
        Files(folder, part);
        RunData run;
        MarksAnew anew;
        try
        {
            run = RunData.Read(folder);
            anew = MarksAnew.Of(run);
        }
        catch (RunFormatException e)
        {
            Problems.Add(new RunProblem(Path.GetFileName(folder), Path.GetFileName(e.File), e.Message));
            return null;
        }

        Figures(part, run, anew);
        foreach ((string file, string what) in EvidenceFigures.AtOdds(run.Descriptor, anew))
            Problems.Add(new RunProblem(run.Name, file, what));
        string by = part.TryGetProperty("software", out JsonElement software) && software.ValueKind == JsonValueKind.String ? software.GetString()! : "";
        if (by != ProgramVersion.Software)
            return $"{_name} was made by '{by}': this version ({ProgramVersion.Software}) words pages otherwise and has not compared the text for people; figures and hashes it has";
        if (!_text.Contains(EvidencePage.Figures(run, anew).Body, StringComparison.Ordinal))
            Add("its text for people does not say what the run says");
        return null;
    }

    private void Files(string folder, JsonElement part)
    {
        var found = EvidenceFigures.Files(folder).ToDictionary(f => f.Path, StringComparer.Ordinal);
        string run = Path.GetFileName(folder);
        if (!part.TryGetProperty("files", out JsonElement files) || files.ValueKind != JsonValueKind.Array)
        {
            Add("states no files");
            return;
        }

        foreach (JsonElement stated in files.EnumerateArray())
        {
            (string path, string sha, string bytes) = (Text(stated, "path"), Text(stated, "sha256"), Text(stated, "bytes"));
            if (!found.Remove(path, out EvidenceFile? file))
                Problems.Add(new RunProblem(run, path, $"is missing; {_name} states it"));
            else if (file.Sha256 != sha || file.Bytes.ToString(CultureInfo.InvariantCulture) != bytes)
                Problems.Add(new RunProblem(run, path, $"has {file.Bytes} bytes and the SHA-256 {file.Sha256}; {_name} states {bytes} and {sha}"));
        }

        foreach (string path in found.Keys)
            Problems.Add(new RunProblem(run, path, $"is not stated by {_name}"));
    }

    private void Figures(JsonElement part, RunData run, MarksAnew anew)
    {
        if (!part.TryGetProperty("figures", out JsonElement figures) || figures.ValueKind != JsonValueKind.Object)
        {
            Add("states no figures");
            return;
        }

        var stated = figures.EnumerateObject().GroupBy(f => f.Name, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.Last().Value, StringComparer.Ordinal);
        foreach ((string name, object value) in EvidenceFigures.Of(run, anew))
        {
            if (!stated.Remove(name, out JsonElement said))
                Add($"states no {name}; the run has {Words(value)}");
            else if (!Same(said, value, name.StartsWith(EvidenceFigures.Anew, StringComparison.Ordinal)))
                Add($"states {name} {said.GetRawText()}; by the run it is {Words(value)}");
        }

        foreach (string name in stated.Keys)
            Add($"states {name}, which the run does not");
    }

    private static bool Same(JsonElement said, object value, bool workedOut)
    {
        const double Rounding = 1e-7; // of other processors
        if (value is string text)
            return said.ValueKind == JsonValueKind.String && said.GetString() == text;
        double number = (double)value;
        if (!double.IsFinite(number))
            return said.ValueKind == JsonValueKind.Null;
        return said.ValueKind == JsonValueKind.Number && said.TryGetDouble(out double given)
            && (given == number || (workedOut && Math.Abs(given - number) <= Rounding * Math.Max(1, Math.Abs(number))));
    }

    private static string Words(object value) => Convert.ToString(value, CultureInfo.InvariantCulture) ?? "";

    private static string Text(JsonElement of, string name) =>
        of.ValueKind == JsonValueKind.Object && of.TryGetProperty(name, out JsonElement value) ? value.ValueKind == JsonValueKind.String ? value.GetString()! : value.GetRawText() : "";

    private void Add(string what) => Problems.Add(new RunProblem(RunName, _name, what));

    private static JsonElement? Part(string page)
    {
        int tag = page.IndexOf($"id=\"{EvidencePage.PartName}\"", StringComparison.Ordinal);
        int from = tag < 0 ? -1 : page.IndexOf('>', tag) + 1;
        int to = from <= 0 ? -1 : page.IndexOf("</script>", from, StringComparison.Ordinal);
        if (to < 0)
            return null;
        try
        {
            using JsonDocument document = JsonDocument.Parse(page[from..to]);
            return document.RootElement.ValueKind == JsonValueKind.Object ? document.RootElement.Clone() : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }
}
