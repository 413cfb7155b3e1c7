using System.Globalization;
using System.Text.Json;
using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

/// <summary>Invented spins with dω/dt = −a − b ω², whose times have a closed form.</summary>
public sealed class ForecastCommandTests : IDisposable
{
    private const double Until = 80;
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Write(int hours = 0, string cover = "jar") => SampleRuns.Write(_bench.Library, LossRun.Make(SampleRuns.Start.AddHours(hours), cover: cover));

    private JsonElement Ask(params string[] words)
    {
        Assert.True(_bench.Run(["forecast", .. words, "--json"]) == 0, _bench.Error);
        return JsonDocument.Parse(_bench.Out[Math.Max(0, _bench.Out.LastIndexOf("\n{", StringComparison.Ordinal))..]).RootElement;
    }

    private static double Of(JsonElement answer, string key) => answer.GetProperty(key).GetDouble();

    private static string Text(double value) => value.ToString("R", CultureInfo.InvariantCulture);

    [Fact]
    public void The_JSON_foretells_the_end_within_its_interval()
    {
        string run = Write();
        JsonElement answer = Ask(run, "--until", Text(Until), "--end", "300");
        Assert.Equal(["atS", "remainingS", "lowS", "highS", "endRpm"], answer.EnumerateObject().Take(5).Select(p => p.Name));
        Assert.Equal((Until, 300, "given"), (Of(answer, "atS"), Of(answer, "endRpm"), answer.GetProperty("endFrom").GetString()));
        double truth = LossRun.TimeS(300) - Until;
        Assert.InRange(truth, Of(answer, "lowS"), Of(answer, "highS"));
        Assert.Equal(truth, Of(answer, "remainingS"), 0.01 * truth);
        Assert.Equal(LossRun.RpmAt(Until), Of(answer, "nowRpm"), 0.2);
    }

    [Fact]
    public void What_came_later_changes_nothing()
    {
        FinishedRun whole = LossRun.Make();
        string run = SampleRuns.Write(_bench.Library, whole);
        string before = Ask(run, "--until", Text(Until)).GetRawText();

        // From then on other marks, in another rhythm, and other speeds.
        var random = new Random(5);
        var other = new FinishedRun
        {
            Descriptor = whole.Descriptor with { StartedAt = whole.Descriptor.StartedAt.AddMinutes(1), Wobble = new RunWobble(9, 0.1) },
            Pulses = [.. whole.Pulses.Select(p => p.Ticks * 1e-9 <= Until ? p : p with { Ticks = p.Ticks + (long)(3e8 * random.NextDouble()), Turns = p.Turns * 1.01 }).OrderBy(p => p.Ticks)],
            SecondsPerTick = whole.SecondsPerTick,
            Speed = [.. whole.Speed.Select(p => p.TimeS <= Until ? p : p with { Rpm = 0.7 * p.Rpm, DecelRpmPerS = 2 * p.DecelRpmPerS })],
            Events = whole.Events,
        };
        string changed = Path.Combine(_bench.Current, "other");
        string name = SampleRuns.Write(changed, other);
        Assert.Equal(before, Ask(Path.Combine(changed, name), "--until", Text(Until)).GetRawText());
        Assert.NotEqual(before, Ask(Path.Combine(changed, name), "--until", Text(Until + 60)).GetRawText());
    }

    [Fact]
    public void The_end_is_the_bodys_or_that_of_earlier_spins_or_assumed()
    {
        string first = Write();
        JsonElement assumed = Ask(first, "--until", Text(Until));
        Assert.Equal("assumed", assumed.GetProperty("endFrom").GetString());
        Assert.InRange(Of(assumed, "endHighRpm") / Of(assumed, "endLowRpm"), 2, 3);
        string rotor = Path.Combine(_bench.Current, "disc.json");
        File.WriteAllText(rotor, """{"name":"disc","parts":[{"name":"disc","shape":"cylinder","radiusMm":30,"heightMm":1,"bottomMm":19.5,"massG":20}]}""");
        JsonElement body = Ask(first, "--until", Text(Until), "--rotor", rotor);
        Assert.Equal("rotor", body.GetProperty("endFrom").GetString());
        Assert.Equal(469.9, Of(body, "endRpm"), 0.2); // a thin disc of 30 mm 20 mm up: 469.9 rpm (Kibble and Berkshire, equation 12.26)
        Write(1);
        string third = Write(2);
        JsonElement earlier = Ask(third, "--until", Text(Until));
        Assert.Equal("earlierRuns", earlier.GetProperty("endFrom").GetString());
        Assert.Equal(300, Of(earlier, "endRpm"), 3.0);
        Assert.InRange(LossRun.TimeS(300) - Until, Of(earlier, "lowS"), Of(earlier, "highS"));
    }

    [Fact]
    public void A_change_of_loss_start_or_body_does_what_its_closed_form_says()
    {
        string run = Write();
        double from2000 = LossRun.TimeS(300) - LossRun.TimeS(2000);
        JsonElement start = Ask(run, "--end", "300", "--start", "2000");
        Assert.Equal(from2000, Of(start.GetProperty("asked"), "timeS"), 0.001 * from2000);
        JsonElement doubled = Ask(run, "--start", "2000", "--loss", "2000-1000=100");
        Assert.Equal(from2000 - ((LossRun.TimeS(1000) - LossRun.TimeS(2000)) / 2), Of(doubled.GetProperty("asked"), "timeS"), 0.001 * from2000);
        Assert.True(Of(doubled.GetProperty("gain"), "highS") < 0);

        // All losses half, and the end at 1/√2: ω = √(a/b) tan(c − √(ab) t) with the root as it was and the rate half.
        JsonElement heavy = Ask(run, "--start", "2000", "--inertia-times", "2");
        Assert.Equal(2 * (LossRun.TimeS(300 / Math.Sqrt(2)) - LossRun.TimeS(2000)), Of(heavy.GetProperty("asked"), "timeS"), 0.005 * from2000);
    }

    [Fact]
    public void Of_a_spin_that_is_over_nothing_remains_and_the_bands_are_as_seen()
    {
        JsonElement answer = Ask(Write());
        Assert.Equal((0, 0, 0, "seen"), (Of(answer, "remainingS"), Of(answer, "lowS"), Of(answer, "highS"), answer.GetProperty("endFrom").GetString()));
        JsonElement[] bands = [.. answer.GetProperty("bands").EnumerateArray()];
        Assert.True(bands.Length >= 6);
        foreach (JsonElement band in bands)
        {
            double truth = LossRun.TimeS(Of(band, "toRpm")) - LossRun.TimeS(Of(band, "fromRpm"));
            Assert.Equal(truth, Of(band, "timeS"), 0.3);
            Assert.Equal(truth / 9, Of(band, "tenthLessLossS"), 0.1);
            Assert.Equal(1, Of(band, "dryShare") + Of(band, "viscousShare") + Of(band, "airShare"), 1e-9);
            double middle = 0.5 * (Of(band, "fromRpm") + Of(band, "toRpm")) / 1000;
            Assert.Equal(LossRun.Dry / (LossRun.Dry + (LossRun.Quadratic * middle * middle)), Of(band, "dryShare"), 0.01);
        }
    }

    [Fact]
    public void For_people_it_says_when_it_ends_and_what_pays_and_draws_it()
    {
        string plot = Path.Combine(_bench.Current, "forecast.svg");
        string page = Path.Combine(_bench.Current, "forecast.html");
        Assert.True(_bench.Run("forecast", Write(), "--until", Text(Until), "--start", "3000", "--plot", plot, "--report", page) == 0, _bench.Error);
        Assert.Contains("ends in", _bench.Out);
        Assert.Contains("assumed, and not known well", _bench.Out);
        Assert.Contains("What pays most", _bench.Out);
        Assert.Contains("from 3000 rpm: ", _bench.Out);
        Assert.Contains("carried on upwards", _bench.Out);
        Assert.Contains("forecast as it stood 0:01:20", File.ReadAllText(plot));
        Assert.Contains("Where the time goes", File.ReadAllText(page));
    }

    [Theory]
    [InlineData("--until 9000; allowed is a moment from 3 s after the release", "--until", "9000")]
    [InlineData("--loss: '2000=10'; allowed are two speeds", "--loss", "2000=10")]
    [InlineData("--loss: '2000-1000=-100'; allowed", "--loss", "2000-1000=-100")]
    [InlineData("they need its file, --rotor", "--what-if", "rim.massG=3")]
    [InlineData("--end: 'slow'", "--end", "slow")]
    public void What_is_wrong_is_said(string words, params string[] options)
    {
        Assert.Equal(2, _bench.Run(["forecast", Write(), .. options]));
        Assert.Contains(words, _bench.Error);
    }

    [Fact]
    public void Without_a_run_it_asks_for_one()
    {
        Assert.Equal(2, _bench.Run("forecast"));
        Assert.Contains("which run?", _bench.Error);
    }
}
