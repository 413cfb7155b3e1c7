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
        string[] ofCapture = ["capture", "runs", "show", "edit", "verify", "spindown"];
        string[] lines = [.. Blocks().SelectMany(b => b).Where(l => l.StartsWith("scripts/acquire ", StringComparison.Ordinal) && ofCapture.Contains(l.Split(' ')[1]))];
        Assert.Equal(ofCapture, lines.Select(l => l.Split(' ')[1]));
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "20", "--minutes", "2");
        await bench.PortIsThere();
        string run = "";
        foreach (string line in lines)
        {
            string[] words = [.. line.Split(' ').Skip(1).Select(w => w == "/dev/ttyACM0" ? bench.Port : w == "RUN" ? run : w)];
            string[] more = words[0] == "capture" ? ["--time-scale", "20"] : words[0] == "show" ? ["--plot", Path.Combine(bench.Folder, "speed.png")] : [];
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

    private static IEnumerable<string[]> Blocks() =>
        FencedBlock().Matches(File.ReadAllText(Path.Combine(Checkout.Root, "README.md")))
            .Select(m => m.Groups[1].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries));

    [GeneratedRegex(@"^ *```sh\n(.*?)^ *```", RegexOptions.Multiline | RegexOptions.Singleline)]
    private static partial Regex FencedBlock();
}
