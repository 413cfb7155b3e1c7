using System.Text;
using System.Text.RegularExpressions;
using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>Packages of which a file was changed, cut, lost or replaced: every command answers, and names the file.</summary>
internal static partial class PackagesSuite
{
    private const string Descriptor = "datapackage.json";
    private const int WholeCases = 3000;
    private const int SampleCases = 120;
    private const int PlotEvery = 25;
    private static readonly string[] Extremes =
        ["", "null", "-1", "0", "1e308", "-1e308", "1e999", "NaN", "\"\"", "\"x\"", "[]", "{}", "true", "9223372036854775807", "9223372036854775808", "0.1", "\"../x\"", "\"\\u0000\""];

    public static void Break(Extent extent, Tally tally)
    {
        using var scratch = new Scratch();
        string open = Directory.CreateDirectory(Path.Combine(scratch.Folder, RunLibrary.OpenFolder)).FullName;
        File.WriteAllBytes(Path.Combine(open, "sample.journal"), SampleJournal.Make());
        Called recovered = Called.Acquire(scratch.Folder, "recover", "--library", scratch.Folder);
        string run = RunLibrary.List(scratch.Folder).Single().Folder;
        if (recovered.Code != 0)
            tally.Fail($"the sample could not be made: {recovered.Error}");
        Parallel.ForEach(extent.Seeds(WholeCases, SampleCases), seed => tally.Count($"seed {seed}", Case(run, seed)));
    }

    private const string Page = "report.html";

    private static List<string> Case(string run, int seed)
    {
        var wrong = new List<string>();
        using var scratch = new Scratch();
        string copy = Directory.CreateDirectory(scratch.At(Path.GetFileName(run))).FullName;
        foreach (string file in Directory.GetFiles(run).Where(f => Path.GetFileName(f) != Page)) // made anew at any time, and vouched for by nothing
            File.Copy(file, Path.Combine(copy, Path.GetFileName(file)));
        var random = new Random(seed);
        string[] files = [.. Directory.GetFiles(copy).Order(StringComparer.Ordinal)];
        string damaged = random.Next(2) == 0 ? Path.Combine(copy, Descriptor) : files[random.Next(files.Length)];
        byte[] before = File.ReadAllBytes(damaged);
        string what = Damage(damaged, random);
        bool isChanged = !File.Exists(damaged) || !File.ReadAllBytes(damaged).AsSpan().SequenceEqual(before);
        Ask(scratch.Folder, copy, damaged, isChanged, seed % PlotEvery == 0, wrong);
        return [.. wrong.Select(w => $"{Path.GetFileName(damaged)}, {what}: {w}")];
    }

    private static void Ask(string library, string run, string damaged, bool isChanged, bool plot, List<string> wrong)
    {
        string file = Path.GetFileName(damaged);
        Called verify = Called.Acquire(library, "verify", run).Expect(wrong, "verify", 0, 1);

        // The descriptor says nothing of itself that could be compared with it; what is in it may still be sound.
        if (isChanged && file != Descriptor && (verify.Code != 1 || !verify.Out.Contains(file, StringComparison.Ordinal)))
            wrong.Add($"verify did not name it, exit {verify.Code}: {verify.Out}");
        Called.Acquire(library, "verify", library, "--json").Expect(wrong, "verify --json", 0, 1);
        Called.Acquire(library, "runs", "--library", library).Expect(wrong, "runs", 0);
        Called.Acquire(library, "runs", "--library", library, "--json").Expect(wrong, "runs --json", 0);
        Named(Called.Acquire(library, "show", run, "--json").Expect(wrong, "show --json", 0, 2), run, wrong);
        if (plot)
            Named(Called.Acquire(library, "show", run, "--plot", Path.Combine(library, "p.svg")).Expect(wrong, "show", 0, 2), run, wrong);
    }

    private static void Named(Called show, string run, List<string> wrong)
    {
        if (show.Code == 2 && !show.Error.Contains(run, StringComparison.Ordinal))
            wrong.Add($"show did not say which file: {show.Error}");
    }

    private static string Damage(string path, Random random)
    {
        byte[] bytes = File.ReadAllBytes(path);
        int at = random.Next(bytes.Length);
        int length = Math.Min(random.Next(1, 60), bytes.Length - at);
        switch (random.Next(9))
        {
            case 0:
                bytes[at] ^= (byte)(1 << random.Next(8));
                File.WriteAllBytes(path, bytes);
                return $"bit flipped at {at}";
            case 1:
                File.WriteAllBytes(path, bytes[..at]);
                return $"cut at {at}";
            case 2:
                File.WriteAllBytes(path, [.. bytes[..at], .. bytes[(at + length)..]]);
                return $"{length} bytes gone at {at}";
            case 3:
                File.WriteAllBytes(path, [.. bytes[..at], .. bytes[at..(at + length)], .. bytes[at..]]);
                return $"{length} bytes twice at {at}";
            case 4:
                File.Delete(path);
                if (random.Next(3) == 0)
                    Directory.CreateDirectory(path);
                return Directory.Exists(path) ? "a folder in its place" : "gone";
            case 5:
                var noise = new byte[random.Next(0, 4096)];
                random.NextBytes(noise);
                File.WriteAllBytes(path, noise);
                return $"{noise.Length} bytes of noise in its place";
            default:
                return DamageValue(path, Encoding.UTF8.GetString(bytes), random);
        }
    }

    private static string DamageValue(string path, string text, Random random)
    {
        MatchCollection values = (path.EndsWith(".json", StringComparison.Ordinal) ? JsonValue() : CsvValue()).Matches(text);
        Match value = values[random.Next(values.Count)];
        string extreme = Extremes[random.Next(Extremes.Length)];
        File.WriteAllText(path, text[..value.Index] + extreme + text[(value.Index + value.Length)..]);
        return $"'{value.Value}' at {value.Index} replaced by '{extreme}'";
    }

    [GeneratedRegex(@"(?<=: ?)(""[^""]*""|-?[\d.eE+-]+|null|true|false)")]
    private static partial Regex JsonValue();

    [GeneratedRegex(@"[^,\n]+")]
    private static partial Regex CsvValue();
}
