using System.Text.Json;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

public sealed class RotorCommandTests : IDisposable
{
    private const string Disc = """
        { "name": "disc", "parts": [
          { "name": "tip", "shape": "frustum", "bottomRadiusMm": 0, "topRadiusMm": 5, "heightMm": 19, "bottomMm": 0, "densityKgM3": 1 },
          { "name": "disc", "shape": "cylinder", "radiusMm": 30, "heightMm": 2, "bottomMm": 19, "densityKgM3": 17683.88256576615, "strengthMPa": 0.5 }
        ] }
        """;

    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string File(string text)
    {
        string path = Path.Combine(_bench.Current, "body.json");
        System.IO.File.WriteAllText(path, text);
        return path;
    }

    // Disc of 0.1 kg, radius 0.03 m, centre at 0.02 m: check of a sleeping top, Kibble and Berkshire 12.26, from memory; 2 mm thick adds
    // m h²/12 to 6.25e-5 across, and a tip of paper's weight next to nothing.
    [Fact]
    public void Its_JSON_has_the_keys_of_the_contract()
    {
        Assert.Equal(0, _bench.Run("rotor", File(Disc), "--json", "--rpm", "3000"));
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.Equal(0.1, answer.GetProperty("massKg").GetDouble(), 1e-6);
        Assert.Equal(4.5e-5, answer.GetProperty("inertiaAxisKgM2").GetDouble(), 1e-10);
        Assert.Equal(6.25e-5 + (0.1 * 4e-6 / 12), answer.GetProperty("inertiaTipKgM2").GetDouble(), 1e-9);
        Assert.Equal(0.02, answer.GetProperty("centreHeightM").GetDouble(), 1e-6);
        Assert.Equal(469.8987 * Math.Sqrt((6.25e-5 + (0.1 * 4e-6 / 12)) / 6.25e-5), answer.GetProperty("toppleRpm").GetDouble(), 0.01);
        Assert.Equal(0.03 * 100 * Math.PI, answer.GetProperty("rimSpeedMS").GetDouble(), 1e-9);
        Assert.Equal(3.5 / 8 * 17683.8826 * Math.Pow(3 * Math.PI, 2), answer.GetProperty("rimStressPa").GetDouble(), 1);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void For_people_it_says_the_speed_it_took_and_the_caution()
    {
        Assert.Equal(0, _bench.Run("rotor", File(Disc)));
        Assert.Contains("3000 rpm (no --rpm, no runUpRpm)", _bench.Out);
        Assert.Contains("topple speed   470", _bench.Out);
        Assert.Contains("comes to 137 % of the strength", _bench.Out);
        Assert.Contains("Caution: a body that bursts", _bench.Out);
        Assert.All(_bench.Out.Split('\n'), line => Assert.True(line.Length <= 80, line));
    }

    [Fact]
    public void What_if_shows_before_after_and_percent()
    {
        Assert.Equal(0, _bench.Run("rotor", File(Disc), "--what-if", "disc.densityKgM3=8841.941282883075", "--json"));
        JsonElement change = JsonDocument.Parse(_bench.Out).RootElement.GetProperty("whatIf");
        Assert.Equal(-50, change.GetProperty("changePercent").GetProperty("massKg").GetDouble(), 1e-3);
        Assert.Equal(2.25e-5, change.GetProperty("inertiaAxisKgM2").GetDouble(), 1e-10);
        using var bench = new Bench();
        Assert.Equal(0, bench.Run("rotor", Path.Combine(_bench.Current, "body.json"), "--what-if", "disc.densityKgM3=8841.941282883075"));
        Assert.Matches(@"inertia, axis +450\.0 +225\.0 +-50\.00 % +g cm²", bench.Out);
    }

    [Fact]
    public void Seconds_with_and_without_a_ring_give_the_inertia()
    {
        Assert.Equal(0, _bench.Run("rotor", "--ring", File(Disc), "--without", "600", "--with", "900", "--u-without", "3", "--u-with", "3", "--json"));
        JsonElement measured = JsonDocument.Parse(_bench.Out).RootElement.GetProperty("measured");
        Assert.Equal(9e-5, measured.GetProperty("inertiaAxisKgM2").GetDouble(), 1e-9);
        Assert.InRange(measured.GetProperty("uInertiaAxisKgM2").GetDouble(), 1e-7, 2e-6);
    }

    [Fact]
    public void Runs_with_and_without_a_ring_give_it_too()
    {
        string without = Run("without", 600);
        string with = Run("with", 900);
        Assert.Equal(0, _bench.Run("rotor", "--ring", File(Disc), "--without", without, "--with", with, "--from", "1500", "--to", "600"));
        Assert.Contains("(9e-5 kg m²)", _bench.Out);
        Assert.Contains("1500-1350", _bench.Out);
        Assert.Contains("One spin of a kind", _bench.Out);
    }

    [Fact]
    public void A_run_that_does_not_pass_the_speeds_is_told()
    {
        string without = Run("without", 600);
        Assert.Equal(2, _bench.Run("rotor", "--ring", File(Disc), "--without", without, "--with", without, "--from", "9000"));
        Assert.Contains("expected it to pass 9000 and 500 rpm as it slows", _bench.Error);
    }

    [Theory]
    [InlineData("FILE is needed")]
    [InlineData("--rpm: 'fast' on the command line; allowed is a number from 0.1 to 1000000 rpm", "x.json", "--rpm", "fast")]
    [InlineData("x.json: found no file", "x.json")]
    [InlineData("--ring, --without and --with are needed together", "--ring", "x.json", "--without", "3")]
    public void A_wrong_call_is_refused(string message, params string[] args)
    {
        Assert.Equal(2, _bench.Run(["rotor", .. args]));
        Assert.Contains(message, _bench.Error);
        Assert.Equal("", _bench.Out);
    }

    [Fact]
    public void Materials_are_listed_with_their_source()
    {
        Assert.Equal(0, _bench.Run("rotor", "--materials"));
        Assert.Contains("ASM Metals Handbook, from memory", _bench.Out);
        Assert.All(_bench.Out.Split('\n'), line => Assert.True(line.Length <= 80, line));
    }

    [Fact]
    public void The_examples_that_come_along_are_sound()
    {
        string? root = AppContext.BaseDirectory;
        while (!System.IO.File.Exists(Path.Combine(root!, "Acquire.sln")))
            root = Path.GetDirectoryName(root);
        foreach (string file in Directory.GetFiles(Path.Combine(root!, "scripts", "examples"), "*.json"))
        {
            using var bench = new Bench();
            Assert.Equal(0, bench.Run("rotor", file));
        }
    }

    // An exponential decay from 2400 rpm with that time constant.
    private string Run(string name, double tauS)
    {
        List<SpeedPoint> speed = [.. Enumerable.Range(0, 1800).Select(t => (t, Rpm: 2400 * Math.Exp(-t / tauS)))
            .Select(p => new SpeedPoint(p.t, p.Rpm, 0.01, p.Rpm / tauS, 1e-5))];
        FinishedRun sample = SampleRuns.Make(name);
        return SampleRuns.Write(_bench.Library, new FinishedRun
        {
            Descriptor = sample.Descriptor with { Result = sample.Descriptor.Result with { ReleaseS = 0 } },
            Pulses = sample.Pulses,
            SecondsPerTick = sample.SecondsPerTick,
            Speed = speed,
            Events = sample.Events,
        });
    }
}
