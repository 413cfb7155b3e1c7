using System.Text.Json;
using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

/// <summary>The longest spins of invented runs that follow dω/dt = −a − b ω² exactly.</summary>
public sealed class BestCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Write(int hour, string cover = "jar", Func<RunDescriptor, RunDescriptor>? change = null, string top = "oak rim")
    {
        FinishedRun usual = LossRun.Make(SampleRuns.Start.AddHours(hour), cover: cover, top: top);
        return SampleRuns.Write(_bench.Library, new FinishedRun
        {
            Descriptor = change is null ? usual.Descriptor : change(usual.Descriptor),
            Pulses = usual.Pulses,
            SecondsPerTick = usual.SecondsPerTick,
            Speed = usual.Speed,
            Events = usual.Events,
        });
    }

    private JsonElement Json(params string[] args)
    {
        Assert.True(_bench.Run(["best", .. args, "--json"]) == 0, _bench.Error);
        return JsonDocument.Parse(_bench.Out).RootElement;
    }

    private static double SpinS => LossRun.TimeS(300);

    [Fact]
    public void What_limits_a_spin_is_what_was_put_in()
    {
        string run = Write(0);
        string faster = Write(1, "none", d => d with { Result = d.Result with { PeakRpm = 2600, SpinTimeS = 100 } });
        string later = Write(2, "ring", d => d with { Result = d.Result with { LastRpm = 250, SpinTimeS = 90 } });
        JsonElement answer = Json("--target", "1:30:00", "--count", "1");
        Assert.Equal(5400, answer.GetProperty("targetS").GetDouble());
        JsonElement[] spins = [.. answer.GetProperty("spins").EnumerateArray()];
        Assert.Equal([run, faster, later], spins.Select(s => s.GetProperty("run").GetString()));
        Assert.Equal((5400 - SpinS, false), (spins[0].GetProperty("gapS").GetDouble(), spins[0].GetProperty("reached").GetBoolean()));
        JsonElement limits = spins[0].GetProperty("limits");
        Assert.True(limits.GetProperty("followsLaw").GetBoolean());
        Gain(limits.GetProperty("launch"), faster, LossRun.TimeS(2400) - LossRun.TimeS(2600));
        Gain(limits.GetProperty("fall"), later, LossRun.TimeS(250) - LossRun.TimeS(300));
        foreach (JsonElement band in limits.GetProperty("bands").EnumerateArray())
        {
            (double from, double to) = (band.GetProperty("fromRpm").GetDouble(), band.GetProperty("toRpm").GetDouble());
            double tip = 100 * LossRun.Dry / (LossRun.Dry + (LossRun.Quadratic * from * to * 1e-6));
            Assert.Equal(tip, band.GetProperty("tipPercent").GetDouble(), 3 * band.GetProperty("uTipPercent").GetDouble());
            Assert.Equal(100 - tip, band.GetProperty("airPercent").GetDouble(), 3 * band.GetProperty("uAirPercent").GetDouble());
            Assert.InRange(band.GetProperty("uTipPercent").GetDouble(), 0, 5);
            Assert.Equal(LossRun.TimeS(to) - LossRun.TimeS(from), band.GetProperty("timeS").GetDouble(), 0.1);
        }

        Assert.False(spins[1].TryGetProperty("limits", out _));
    }

    private static void Gain(JsonElement gain, string run, double truthS)
    {
        Assert.Equal(run, gain.GetProperty("run").GetString());
        Assert.True(gain.GetProperty("extended").GetBoolean());
        Assert.InRange(truthS, gain.GetProperty("lowS").GetDouble(), gain.GetProperty("highS").GetDouble());
        Assert.Equal(truthS, gain.GetProperty("gainS").GetDouble(), 0.05 * truthS);
    }

    [Fact]
    public void For_people_a_table_comes_first_and_then_what_limits_each()
    {
        Write(0);
        Write(1);
        string faster = Write(2, "none", d => d with { Result = d.Result with { PeakRpm = 2600, SpinTimeS = 100 }, Budget = new RunBudget(0.3, 0.1, 0.2), Clock = d.Clock with { HostClock = "unsynchronised" } });
        Assert.True(_bench.Run("best", "--target", "5:00") == 0, _bench.Error);
        string[] lines = _bench.Out.Split('\n');
        Assert.Equal("The longest spin of each top and set-up, beside a target of 0:05:00.0", lines[0]);
        Assert.Matches("oak rim +base=glass, cover=jar, rim_mass_g=12.5 +2 +0:0", lines[3]);
        Assert.Contains($"Start: released at 2400 rpm, the best launch of this top at 2600 rpm ({faster}): worth 6.", _bench.Out, StringComparison.Ordinal);
        Assert.Contains("Start: released at 2600 rpm, the best launch of this top.", _bench.Out, StringComparison.Ordinal);
        Assert.Contains("Clock: 0.30 s of the time's standard uncertainty of 0.10 s is the clock's (the computer's own clock: unsynchronised).", _bench.Out, StringComparison.Ordinal);
        Assert.DoesNotContain("NaN", _bench.Out, StringComparison.Ordinal);
    }

    [Fact]
    public void A_spin_whose_end_was_not_seen_lasted_at_least_so_long_and_leaves_a_target_open()
    {
        Write(0, change: d => d with { EndReason = EndReasons.SignalLost });
        Assert.Equal(JsonValueKind.Null, Json("--target", "1:30:00").GetProperty("spins")[0].GetProperty("reached").ValueKind);
        using var people = new Bench();
        Assert.Equal(0, people.Run("best", "--target", "1:30:00", "--library", _bench.Library));
        Assert.Contains(": at least 0:0", people.Out, StringComparison.Ordinal);
        Assert.Contains("whether the target is reached its unseen end leaves open", people.Out, StringComparison.Ordinal);
        Assert.Contains("End: the marks ceased at 300 rpm and did not come back", people.Out, StringComparison.Ordinal);
        using var short_ = new Bench();
        Assert.Equal(0, short_.Run("best", "--target", "60", "--library", _bench.Library));
        Assert.Contains("the target is reached, by", short_.Out, StringComparison.Ordinal);
    }

    [Fact]
    public void Tops_are_told_apart_and_a_spoilt_run_is_left_out_and_named()
    {
        Write(0, top: "beech");
        string spoilt = Write(1, change: d => d with { Spoilt = "touched", Result = d.Result with { SpinTimeS = 9000 } });
        string good = Write(2);
        Assert.Equal([2, 1], Json().GetProperty("spins").EnumerateArray().Select(s => s.GetProperty("run").GetString() == good ? 1 : 2));
        Assert.Contains($"acquire best: {spoilt} is left out: it is marked as spoilt: touched", _bench.Error, StringComparison.Ordinal);
        using var with = new Bench();
        Assert.Equal(0, with.Run("best", "--with-spoilt", "--count", "0", "--library", _bench.Library));
        Assert.Contains("2:30:00.0", with.Out, StringComparison.Ordinal);
    }

    // Its loss falls to a third at 1200 rpm, as no sum of powers does; above it is the same at all speeds, so that the limit is the truth.
    [Fact]
    public void Where_no_law_follows_the_spin_no_shares_are_told_and_gains_have_a_limit_only()
    {
        const double Rad = Math.PI / 30;
        const double Fast = 3;
        const double Slow = 1;
        double kinkS = 1200 * Rad / Fast;
        double stopS = kinkS + (900 * Rad / Slow);
        double turnsAtKink = 1800 * Rad * kinkS / (2 * Math.PI);
        double After(double rpm, double decel, double turns) => ((rpm * Rad) - Math.Sqrt((rpm * rpm * Rad * Rad) - (4 * Math.PI * decel * turns))) / decel;
        double TimeS(int turn) => turn < turnsAtKink ? After(2400, Fast, turn) : kinkS + After(1200, Slow, turn - turnsAtKink);
        int last = (int)(turnsAtKink + (750 * Rad * (stopS - kinkS) / (2 * Math.PI)));
        FinishedRun usual = LossRun.Make();
        SampleRuns.Write(_bench.Library, new FinishedRun
        {
            Descriptor = usual.Descriptor with { Result = usual.Descriptor.Result with { StopS = stopS, SpinTimeS = stopS } },
            Pulses = [.. Enumerable.Range(0, last).Select(i => new Conditioning.JudgedPulse((long)Math.Round(1e9 * TimeS(i)), 0, Conditioning.PulseKind.Mark, 0, i))],
            SecondsPerTick = 1e-9,
            Speed = [.. Enumerable.Range(0, (int)stopS).Select(i => i < kinkS
                ? new Motion.SpeedPoint(i, 2400 - (Fast * i / Rad), 0.01, Fast / Rad, 0.01)
                : new Motion.SpeedPoint(i, 1200 - (Slow * (i - kinkS) / Rad), 0.01, Slow / Rad, 0.01))],
            Events = usual.Events,
        });
        Write(1, "none", d => d with { Result = d.Result with { PeakRpm = 2600, SpinTimeS = 100 } });
        JsonElement limits = Json("--count", "1").GetProperty("spins")[0].GetProperty("limits");
        Assert.False(limits.GetProperty("followsLaw").GetBoolean());
        JsonElement launch = limits.GetProperty("launch");
        Assert.Equal((JsonValueKind.Null, 0.0), (launch.GetProperty("gainS").ValueKind, launch.GetProperty("lowS").GetDouble()));
        Assert.Equal(200 * Rad / Fast, launch.GetProperty("highS").GetDouble(), 0.02);
        Assert.All(limits.GetProperty("bands").EnumerateArray(), b => Assert.Equal(JsonValueKind.Null, b.GetProperty("tipPercent").ValueKind));
        using var people = new Bench();
        Assert.Equal(0, people.Run("best", "--count", "1", "--library", _bench.Library));
        Assert.Contains("worth at most 7 s", people.Out, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--target: '1h' on the command line; allowed is a time as h:mm:ss, mm:ss or seconds", "--target", "1h")]
    [InlineData("--target: '1:75' on the command line", "--target", "1:75")]
    [InlineData("--target: '0' on the command line", "--target", "0")]
    [InlineData("--count: '-1' on the command line", "--count", "-1")]
    [InlineData("there is no 'colour'", "--where", "colour=red")]
    public void A_wrong_call_says_what_is_wrong(string said, params string[] args)
    {
        Write(0);
        Assert.Equal(2, _bench.Run(["best", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire best --help.", _bench.Error, StringComparison.Ordinal);
        Assert.Empty(_bench.Out);
    }

    [Fact]
    public void An_empty_library_has_no_best_spin()
    {
        Assert.Equal(2, _bench.Run("best"));
        Assert.Contains("there are no runs in", _bench.Error, StringComparison.Ordinal);
    }
}
