using System.Text.RegularExpressions;
using Acquire.Recording;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed partial class ReadmeTests
{
    // The README's own lines are run, in their order, with a simulated board at the port that they name.
    [Fact]
    public async Task The_first_capture_as_the_README_has_it_works_line_by_line()
    {
        string[] ofCapture = ["capture", "runs", "show", "edit", "verify", "spindown", "forecast", "launch", "export", "evidence", "verify"];
        string[] lines = [.. Blocks().SelectMany(b => b).Select(l => l.Split('#')[0].TrimEnd()).Where(l => l.StartsWith("scripts/acquire ", StringComparison.Ordinal) && ofCapture.Contains(l.Split(' ')[1]) && !l.Contains("--plan", StringComparison.Ordinal))];
        Assert.Equal(ofCapture, lines.Select(l => l.Split(' ')[1]));
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "20", "--minutes", "2");
        await bench.PortIsThere();
        string run = "";
        foreach (string line in lines)
        {
            string[] words = [.. line.Split(' ').Skip(1).Select(w => w == "/dev/ttyACM0" ? bench.Port : w == "RUN" ? run : w == "RUN-evidence.html" ? Path.Combine(bench.Folder, run + "-evidence.html") : w)];
            string[] more = words[0] switch
            {
                "capture" => ["--time-scale", "20"],
                "show" => ["--plot", Path.Combine(bench.Folder, "speed.png")],
                "export" => ["--output", Path.Combine(bench.Folder, run + ".vtt")],
                "evidence" => ["--out", Path.Combine(bench.Folder, run + "-evidence.html")],
                _ => [],
            };
            using Started acquire = Started.Acquire([.. words, .. more, "--library", bench.Library]);
            Assert.True(acquire.Wait(90) == 0, $"{line}\n{acquire.Output}\n{acquire.Error}");
            if (words[0] == "capture")
                run = Path.GetFileName(acquire.LastLine);
            Assert.Contains(run, acquire.Output, StringComparison.Ordinal);
        }

        RunSetup setup = RunPackageReader.ReadDescriptor(bench.OnlyRun()).Setup;
        Assert.Equal(("glass-dish", "jar", 12.5), (setup.Base, setup.Cover, setup.Factors["rim_mass_g"]));
        Assert.True(new FileInfo(Path.Combine(bench.Folder, "speed.png")).Length > 10_000);
    }

    [Fact]
    public async Task The_lines_on_a_plan_can_be_run_as_the_README_has_them()
    {
        string[] lines = [.. OfPlan().Where(l => l.Split(' ')[1] is not ("compare" or "forecast"))]; // those are run where there is something to compare, and with the first capture
        Assert.Equal(["plan", "capture", "plan", "best"], lines.Select(l => l.Split(' ')[1]));
        using var bench = new Bench();
        Directory.CreateDirectory(bench.Library);
        using Started board = Started.Player("--link", bench.Port, "--speed", "40", "--minutes", "1", "--peak", "2200", "--topple", "300");
        await bench.PortIsThere();
        var said = new List<string>();
        foreach (string line in lines)
        {
            string[] words = [.. line.Split(' ').Skip(1).Select(w => w == "/dev/ttyACM0" ? bench.Port : w == "covers.csv" ? Path.Combine(bench.Folder, w) : w)];
            using Started acquire = Started.Acquire([.. words, .. words[0] == "capture" ? ["--time-scale", "40", "--once"] : Array.Empty<string>(), "--library", bench.Library]);
            Assert.True(acquire.Wait(90) == 0, $"{line}\n{acquire.Output}\n{acquire.Error}");
            said.Add(acquire.Output);
        }

        Assert.Contains("Runs of one set-up scatter by 1.0 %", said[0], StringComparison.Ordinal);
        RunDescriptor run = RunPackageReader.ReadDescriptor(bench.OnlyRun());
        Assert.Equal((1, null), (run.Plan!.Row, run.Spoilt));
        Assert.Contains(run.Setup.Cover, (string[])["none", "ring"]);
        Assert.Contains(": 1 of 12 runs done\nNext: row 2 of 12 ", said[2], StringComparison.Ordinal);
        Assert.Contains("short of the target", said[3], StringComparison.Ordinal);
    }

    /// <summary>The README's lines from a plan to its answer.</summary>
    internal static string[] OfPlan() => [.. Blocks().Single(b => b[0].StartsWith("scripts/acquire plan", StringComparison.Ordinal)).Select(l => l.Split('#')[0].TrimEnd())];

    [Fact]
    [System.Runtime.Versioning.SupportedOSPlatform("linux")]
    public void The_first_two_commands_of_the_README_are_there_and_can_be_run()
    {
        string[] first = Blocks().First();
        Assert.Equal(["scripts/demo", "scripts/test"], first.Select(l => l.Split(' ')[0]));
        foreach (string line in first)
        {
            string script = Path.Combine(Checkout.Root, line.Split(' ')[0]);
            Assert.True((File.GetUnixFileMode(script) & UnixFileMode.UserExecute) != 0, $"{script} cannot be executed");
            using var help = new Started(script, "--help");
            Assert.Equal(0, help.Wait(20));
            Assert.Contains("Example:", help.Output, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void The_lines_on_the_service_can_be_run_as_the_README_has_them()
    {
        string[] lines = [.. Blocks().Single(b => b[0].Contains("install-service", StringComparison.Ordinal)).Select(l => l.Split('#')[0].TrimEnd())];
        Assert.Equal(["sudo scripts/install-service", "acquire status --library /var/lib/acquire"], lines);
        using var install = new Started(Path.Combine(Checkout.Root, "scripts/install-service"), "--dry-run");
        Assert.Equal(0, install.Wait(20));
        Assert.Contains("would do: library: /var/lib/acquire,", install.Output, StringComparison.Ordinal);
        using var bench = new Bench();
        Directory.CreateDirectory(bench.Library);
        using Started status = Started.Acquire([.. lines[1].Split(' ').Skip(1).Select(w => w == "/var/lib/acquire" ? bench.Library : w)]);
        Assert.Equal(1, status.Wait(20));
        Assert.Contains("no capture runs in", status.Output, StringComparison.Ordinal);
    }

    // Truth of the demo library: a cover at 6 mm gains 22.3 % between 2000 and 500 rpm (the integral of its invented loss), none is better than 6.5 mm.
    [Fact]
    public void The_lines_on_a_change_can_be_run_as_the_README_has_them_and_give_what_is_true_of_the_demo()
    {
        string[] lines = Blocks().Single(b => b[0].StartsWith("scripts/demo-library", StringComparison.Ordinal));
        Assert.Equal(["scripts/demo-library", "scripts/acquire compare", "scripts/acquire sweep"], lines.Select((l, i) => string.Join(' ', l.Split(' ').Take(i == 0 ? 1 : 2))));
        using var bench = new Bench();
        using var made = new Started("dotnet", Checkout.DemoLibrary, bench.Library);
        Assert.True(made.Wait(300) == 0, made.Error);
        foreach (string line in lines.Skip(1))
        {
            string[] words = [.. line.Split(' ').Skip(1).Select(w => w == "/tmp/demo" ? bench.Library : w.EndsWith(".png", StringComparison.Ordinal) || w.EndsWith(".html", StringComparison.Ordinal) ? Path.Combine(bench.Folder, Path.GetFileName(w)) : w)];
            using Started acquire = Started.Acquire(words);
            Assert.True(acquire.Wait(90) == 0, $"{line}\n{acquire.Output}\n{acquire.Error}");
            using Started json = Started.Acquire([.. words, "--json"]);
            Assert.Equal(0, json.Wait(90));
            System.Text.Json.JsonElement answer = System.Text.Json.JsonDocument.Parse(json.Output).RootElement;
            System.Text.Json.JsonElement one = answer.GetProperty(words[0] == "compare" ? "variants" : "curves")[0];
            (string low, string high, double truth) = words[0] == "compare" ? ("lowPercent", "highPercent", DemoGainPercent) : ("bestLow", "bestHigh", DemoBestMm);
            Assert.InRange(truth, one.GetProperty(low).GetDouble(), one.GetProperty(high).GetDouble());
        }

        Assert.True(new FileInfo(Path.Combine(bench.Folder, "cover.png")).Length > 10_000);
        Assert.Contains("helps: +", File.ReadAllText(Path.Combine(bench.Folder, "cover.html")), StringComparison.Ordinal);
    }

    [Fact]
    public void The_lines_on_body_air_and_import_can_be_run_as_the_README_has_them()
    {
        string[] lines = [.. Blocks().Single(b => b[0].StartsWith("scripts/acquire rotor", StringComparison.Ordinal)).Select(l => l.Split('#')[0].TrimEnd())];
        Assert.Equal(["rotor", "rotor", "air", "import"], lines.Select(l => l.Split(' ')[1]));
        using var bench = new Bench();
        string table = Path.Combine(bench.Folder, "tacho.csv");
        // Invented: 2000 rpm, falling by 1 % a second, read twice a second to 0.1 rpm.
        File.WriteAllLines(table, ["Time,rpm", .. Enumerable.Range(0, 300).Select(i => FormattableString.Invariant($"{0.5 * i:F1},{2000 * Math.Exp(-0.005 * i):F1}"))]);
        string Run(string line, params string[] more)
        {
            string[] words = [.. line.Split(' ').Skip(1).Select(w => w == "tacho.csv" ? table : w.StartsWith("scripts/", StringComparison.Ordinal) ? Path.Combine(Checkout.Root, w) : w), .. more];
            using Started acquire = Started.Acquire(words);
            Assert.True(acquire.Wait(60) == 0, $"{line}\n{acquire.Output}\n{acquire.Error}");
            return acquire.Output;
        }

        Assert.Contains("topple", Run(lines[0]), StringComparison.OrdinalIgnoreCase);
        Assert.Contains("1.18", Run(lines[2]), StringComparison.Ordinal);
        string run = Run(lines[3], "--library", bench.Library).Trim().Split('\n')[^1];
        Assert.Equal("import", RunPackageReader.ReadDescriptor(run).Source.Kind);
        Assert.Empty(RunVerifier.VerifyLibrary(bench.Library));
    }

    [Fact]
    public void The_lines_on_the_motor_bench_can_be_run_as_the_README_has_them()
    {
        string[] lines = [.. Blocks().Single(b => b[0].StartsWith("scripts/acquire brake", StringComparison.Ordinal)).Select(l => l.Split('#')[0].TrimEnd())];
        Assert.Equal(["--template", "bench.csv"], lines.Select(l => l.Split(' ')[2]));
        using var bench = new Bench();
        string At(string name) => Path.Combine(bench.Folder, name);
        string Run(string line)
        {
            using Started acquire = Started.Acquire([.. line.Split(' ').Skip(1).Select(w => w is "bench.csv" or "torque.png" ? At(w) : w)]);
            Assert.True(acquire.Wait(60) == 0, $"{line}\n{acquire.Output}\n{acquire.Error}");
            return acquire.Output;
        }

        Run(lines[0]);

        // Invented: the cover takes a third off what the open body brakes, and a reading is 5 mW off, up and down in turn.
        string[] sheet = File.ReadAllLines(At("bench.csv"));
        File.WriteAllLines(At("bench.csv"), sheet.Select((l, i) => l.EndsWith(",,", StringComparison.Ordinal) ? Filled(l.Split(','), i % 2 == 0 ? 0.005 : -0.005) : l));
        Assert.Contains("cover: brakes less than open", Run(lines[1]), StringComparison.Ordinal);
        Assert.True(new FileInfo(At("torque.png")).Length > 10_000);
    }

    private static string Filled(string[] cells, double offW)
    {
        double w = double.Parse(cells[1], System.Globalization.CultureInfo.InvariantCulture) * Math.PI / 30;
        double torqueNm = cells[0] switch { "open" => 3e-8 * w * w, "cover" => 2e-8 * w * w, _ => 0 };
        return FormattableString.Invariant($"{cells[0]},{cells[1]},12,{((w * (2e-3 + torqueNm)) + offW) / 12:F6}");
    }

    private const double DemoGainPercent = 22.3;
    private const double DemoBestMm = 6.5;

    private static IEnumerable<string[]> Blocks() =>
        FencedBlock().Matches(File.ReadAllText(Path.Combine(Checkout.Root, "README.md")))
            .Select(m => m.Groups[1].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries));

    [GeneratedRegex(@"^ *```sh\n(.*?)^ *```", RegexOptions.Multiline | RegexOptions.Singleline)]
    private static partial Regex FencedBlock();
}
