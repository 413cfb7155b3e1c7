using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Service.Sensor;
using static Acquire.Service.Tests.Sensor.Watched;

namespace Acquire.Service.Tests.Sensor;

public sealed class SensorJudgeTests
{
    private const int Seeds = 200;

    [Theory]
    [InlineData(100)]
    [InlineData(120)]
    [InlineData(50)]  // one half-wave weaker than the other
    [InlineData(60)]
    [InlineData(200)]
    [InlineData(240)]
    public void A_lamp_alone_is_named_with_its_frequency_whatever_its_duty(double hz)
    {
        ForEachSeed(seed =>
        {
            double ppm = ((seed * 37) % 101 - 50) * 100; // −5,000 to 5,000
            var sensor = new SensorSettings { Lamp = LampLight.Alone, LampHz = hz, LampDuty = 0.05 + (0.9 * seed / Seeds), LampSeenProbability = seed % 3 == 0 ? 0.7 : 1 };
            SensorReport report = SensorJudge.Judge(See(null, sensor, seed, ppm), OneMark);
            bool near = report.LampHz is { } found && Math.Abs((found * (1 + (ppm * 1e-6)) / hz) - 1) < 1e-3;
            return (report.Faults is [SensorFault.Lamp] && near, report);
        });
    }

    [Fact]
    public void A_lamp_that_shines_while_a_mark_is_turned_by_hand_is_named_too() => ForEachSeed(seed =>
    {
        SensorReport report = SensorJudge.Judge(See(TurnedByHand(seed), Mark() with { Lamp = LampLight.MixedIn, LampDuty = 0.3 }, seed), OneMark);
        return (report.LampHz is > 99.9 and < 100.1 && !report.Fit, report);
    });

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(4)]
    [InlineData(8)]
    public void Good_marks_turned_by_hand_are_fit(int marks) => ForEachSeed(seed =>
    {
        SensorReport report = SensorJudge.Judge(See(TurnedByHand(seed), Mark(marks, seed: seed), seed), OneMark with { Marks = marks });
        return (report.Fit && report.LampHz is null && (report.Repeat is null || marks % report.Repeat == 0), report);
    });

    [Theory]
    [InlineData(300)]
    [InlineData(1850)]
    [InlineData(6000)] // 100 pulses a second, slowing down: no lamp
    [InlineData(3010)]
    public void A_good_mark_at_speed_is_fit(double rpm) => ForEachSeed(seed =>
    {
        SensorReport report = SensorJudge.Judge(See(Spinning(rpm), Mark(), seed, fromS: 0.6), OneMark);
        return (report.Fit, report);
    });

    [Fact]
    public void A_top_that_slows_down_no_faster_than_in_90_minutes_is_no_lamp_at_6000_rpm() => ForEachSeed(seed =>
    {
        SpinPlan slow = new SpinPlan { Pushes = [new(6040 + (seed % 5), 0.5)], ToppleRpm = 500 }.Lasting(90 * 60);
        SensorReport report = SensorJudge.Judge(See(slow, Mark(), seed, fromS: 20 + (seed % 8)), OneMark);
        return (report.LampHz is null && report.Fit, report);
    });

    [Fact]
    public void Pulses_at_random_are_noise() => ForEachSeed(seed =>
    {
        var random = new Random(seed);
        double perS = 3 + (seed % 97);
        var pulses = new List<Pulse>();
        for (double t = 0; t < WatchedS; t += -Math.Log(1 - random.NextDouble()) / perS)
            pulses.Add(new Pulse((long)(t * TickHz), (uint)random.Next(20, 2000), 0));
        SensorReport report = SensorJudge.Judge(Of(pulses), OneMark);
        return (report.Faults.Contains(SensorFault.Irregular) && report.LampHz is null, report);
    });

    [Fact]
    public void Nothing_seen_and_too_little_seen_are_told_apart()
    {
        Assert.Equal([SensorFault.NothingSeen], SensorJudge.Judge(Of([]), OneMark).Faults);
        Assert.Equal([SensorFault.TooFew], SensorJudge.Judge(Of([new(0, 9, 0), new(900_000, 9, 1)]), OneMark).Faults);
        Assert.Equal([SensorFault.Silent], SensorJudge.Judge(Of([]) with { Lines = false }, OneMark).Faults);
        Assert.Equal([SensorFault.Garbled], SensorJudge.Judge(Of([]) with { Lines = false, Counts = new(0, 40, 0, 0, 0, 0) }, OneMark).Faults);
    }

    [Fact]
    public void A_bright_spot_beside_one_mark_shows_as_pulses_that_repeat_in_twos() => ForEachSeed(seed =>
    {
        SensorSettings spot = Mark() with { FixedGlintProbability = 1, FixedGlintTurns = 0.37, FixedGlintWidthTurns = 0.05 };
        SensorReport report = SensorJudge.Judge(See(TurnedByHand(seed), spot, seed), OneMark);
        return (report.Repeat == 2 && report.Faults.Contains(SensorFault.OtherMarks), report);
    });

    [Fact]
    public void Three_marks_where_four_were_said_are_seen_to_repeat_in_threes() => ForEachSeed(seed =>
    {
        SensorSettings three = Mark(3) with { MarkOffsetsTurns = [0, 0.27, 0.67] };
        SensorReport report = SensorJudge.Judge(See(TurnedByHand(seed), three, seed), OneMark with { Marks = 4 });
        return (report.Repeat == 3 && report.Faults.Contains(SensorFault.OtherMarks), report);
    });

    [Theory]
    [InlineData(1, 12, 12, true)]
    [InlineData(1, 12, 13, true)]  // where the turning began and ended may add or cost one
    [InlineData(1, 12, 15, false)]
    [InlineData(2, 6, 12, true)]
    [InlineData(2, 12, 12, false)]
    public void Turns_counted_by_hand_are_held_against_the_pulses(int marks, int turns, int pulses, bool same)
    {
        Pulse[] seen = [.. Enumerable.Range(0, pulses).Select(i => new Pulse(i * 1_000_000L, 100_000, 0))];
        SensorReport report = SensorJudge.Judge(Of(seen), new SensorAim(marks, 12_000, turns));
        Assert.Equal(!same, report.Faults.Contains(SensorFault.OtherCount));
    }

    [Fact]
    public void Edges_that_bounce_are_named() => ForEachSeed(seed =>
    {
        SensorReport report = SensorJudge.Judge(See(TurnedByHand(seed), Mark() with { BounceProbability = 0.5 }, seed), OneMark);
        return (report.Faults is [SensorFault.Bounce, ..] && report.TooClose > 0, report);
    });

    [Theory]
    [InlineData(0.65, SensorFault.WideMark, false)]
    [InlineData(0.02, SensorFault.NarrowMark, true)]
    public void A_mark_too_wide_is_a_fault_and_a_narrow_one_a_hint(double widthTurns, SensorFault fault, bool fit) => ForEachSeed(seed =>
    {
        SensorReport report = SensorJudge.Judge(See(Spinning(300), Mark(widthTurns: widthTurns), seed, fromS: 0.6), OneMark);
        return (report.Faults.Count == 1 && report.Faults[0] == fault && report.Fit == fit && Math.Abs(report.TurnShare - widthTurns) < 0.05 * widthTurns + 0.02, report);
    });

    [Fact]
    public void A_mark_at_the_edge_of_the_threshold_varies_in_width()
    {
        var random = new Random(4);
        Pulse[] seen = [.. Enumerable.Range(0, 40).Select(i => new Pulse(i * 1_000_000L, (uint)random.Next(20_000, 300_000), 0))];
        Assert.Equal([SensorFault.UnsteadyWidth], SensorJudge.Judge(Of(seen), OneMark).Faults);
    }

    [Fact]
    public void Losses_on_the_line_are_named_and_the_one_bad_line_at_the_start_is_forgiven()
    {
        SensorView good = See(TurnedByHand(1), Mark(), 1);
        int n = good.Pulses.Count;
        Assert.True(SensorJudge.Judge(good with { Counts = new(n, 1, 0, 0, 0, 0) }, OneMark).Fit);
        Assert.Equal([SensorFault.BadLines], SensorJudge.Judge(good with { Counts = new(n, 2, 0, 0, 0, 0) }, OneMark).Faults);
        Assert.Equal([SensorFault.LostOnLine], SensorJudge.Judge(good with { Counts = new(n, 0, 1, 0, 0, 0) }, OneMark).Faults);
        Assert.Equal([SensorFault.DroppedByBoard], SensorJudge.Judge(good with { Counts = new(n, 0, 0, 1, 0, 0) }, OneMark).Faults);
        Assert.Equal([SensorFault.Restarted], SensorJudge.Judge(good with { Counts = new(n, 0, 0, 0, 1, 0) }, OneMark).Faults);
        Assert.Equal([SensorFault.LinkLost], SensorJudge.Judge(good with { LinkLosses = 1 }, OneMark).Faults);
    }

    private static void ForEachSeed(Func<int, (bool Good, SensorReport Report)> judge)
    {
        var wrong = new List<string>();
        for (int seed = 1; seed <= Seeds; seed++)
        {
            (bool good, SensorReport report) = judge(seed);
            if (!good)
                wrong.Add($"seed {seed}: {Words(report)}");
        }

        Assert.True(wrong.Count == 0, $"{wrong.Count} of {Seeds} wrong:\n{string.Join('\n', wrong.Take(12))}");
    }
}
