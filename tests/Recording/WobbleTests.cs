using System.Text.Json.Nodes;
using Acquire.Motion;

namespace Acquire.Recording.Tests;

/// <summary>What a run writes of a wobble; invented data.</summary>
public sealed class WobbleTests : IDisposable
{
    // Rate at 1500 rpm: 9.3 / 25 = 0.372 Hz; its uncertainty 0.372 × √((0.0031/9.3)² + (0.25/1500)²) = 1.3864e-4 Hz.
    private static readonly Wobble Invented = new(9.3, 0.0031, [new WobbleSize(0.2, 1500, 0.001, 2e-5), new WobbleSize(1.9, 1410, 0.00125, 3e-5)]);
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Its_course_is_a_table_of_its_own_with_units_size_and_hash_and_is_read_back()
    {
        string run = Write(Invented);
        JsonNode resource = JsonNode.Parse(File.ReadAllText(Path.Combine(run, "datapackage.json")))!["resources"]!.AsArray().Single(r => (string)r!["name"]! == "wobble")!;
        Assert.Equal("wobble.csv", (string)resource["path"]!);
        Assert.Equal(new FileInfo(Path.Combine(run, "wobble.csv")).Length, (long)resource["bytes"]!);
        Assert.Matches("^sha256:[0-9a-f]{64}$", (string)resource["hash"]!);
        Assert.Equal(
            ["time_s s", "rpm 1/min", "rate_hz Hz", "u_rate_hz Hz", "amplitude_turns turn", "u_amplitude_turns turn"],
            resource["schema"]!["fields"]!.AsArray().Select(f => $"{f!["name"]} {f["unit"]}"));
        WobblePoint first = RunPackageReader.ReadWobble(run)[0];
        Assert.Equal((0.2, 1500, 0.001, 2e-5), (first.TimeS, first.Rpm, first.AmplitudeTurns, first.UAmplitudeTurns));
        Assert.Equal(0.372, first.RateHz, 1e-6);
        Assert.Equal(1.3864e-4, first.URateHz, 1e-7);
        Assert.Empty(RunVerifier.Verify(run));
    }

    [Fact]
    public void A_run_without_one_says_nothing_of_it()
    {
        string run = Write(null);
        Assert.False(File.Exists(Path.Combine(run, "wobble.csv")));
        Assert.DoesNotContain("wobble", File.ReadAllText(Path.Combine(run, "datapackage.json")), StringComparison.Ordinal);
        Assert.Null(RunPackageReader.ReadDescriptor(run).Wobble);
        Assert.Empty(RunPackageReader.ReadWobble(run));
        Assert.Empty(RunVerifier.Verify(run));
    }

    [Theory]
    [InlineData("0.2", "0.3", "its content was changed")]
    [InlineData("\n0.2", "\n2.2", "row 2: time_s goes back")]
    [InlineData("rate_hz", "hz", "expected time_s,rpm,rate_hz")]
    [InlineData("1500", "fast", "rpm 'fast")]
    public void Whatever_is_changed_in_its_table_is_named(string from, string to, string what)
    {
        string run = Write(Invented);
        string path = Path.Combine(run, "wobble.csv");
        string text = File.ReadAllText(path);
        int at = text.IndexOf(from, StringComparison.Ordinal);
        File.WriteAllText(path, text[..at] + to + text[(at + from.Length)..]);
        Assert.Contains(RunVerifier.Verify(run), problem => problem.File == "wobble.csv" && problem.What.Contains(what, StringComparison.Ordinal));
    }

    [Fact]
    public void A_table_that_is_missing_or_that_the_descriptor_does_not_name_is_a_problem()
    {
        string run = Write(Invented);
        File.Delete(Path.Combine(run, "wobble.csv"));
        Assert.Contains(RunVerifier.Verify(run), problem => problem.File == "wobble.csv" && problem.What == "is missing");
        string path = Path.Combine(run, "datapackage.json");
        File.WriteAllText(path, File.ReadAllText(path).Replace("\"name\": \"wobble\"", "\"name\": \"other\"", StringComparison.Ordinal));
        Assert.Contains(RunVerifier.Verify(run), problem => problem.What == "tells of a wobble, but has no resource wobble");
    }

    private string Write(Wobble? wobble)
    {
        FinishedRun small = Runs.Small();
        return RunPackageWriter.Write(_folder.Root, new FinishedRun
        {
            Descriptor = small.Descriptor with { Wobble = wobble is null ? null : new RunWobble(wobble.ConstantPerS2, wobble.UConstantPerS2) },
            Pulses = small.Pulses,
            SecondsPerTick = small.SecondsPerTick,
            Speed = small.Speed,
            Events = small.Events,
            Wobble = wobble,
        });
    }
}
