using Acquire.Acquisition.Simulation;
using Xunit;

namespace Acquire.Acquisition.Tests.Simulation;

public sealed class OpticalSensorTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(3)]
    [InlineData(8)]
    public void Without_faults_every_mark_passes_once_at_its_true_moment(int marks)
    {
        SimulatedSpin spin = Play(new SensorSettings { MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.06, 3), MarkWidthTurns = 0.01 });
        SimulatedPulse[] pulses = [.. spin.Pulses()];
        long first = pulses[0].Mark;
        SpinTruth truth = spin.Spins[0];

        Assert.InRange(pulses.Length - (marks * (truth.LaunchTurns + truth.FreeTurns)), -marks, marks);
        for (int i = 0; i < pulses.Length; i++)
        {
            Assert.Equal(PulseOrigin.Mark, pulses[i].Origin);
            Assert.Equal(first + i, pulses[i].Mark);
            double place = (pulses[i].Mark / marks) + spin.Scenario.Sensor.MarkOffsetsTurns[(int)(pulses[i].Mark % marks)];
            double turns = spin.StartTurns + spin.Motion.Turns(pulses[i].TimeS);
            Assert.InRange((turns - place) / (spin.Motion.SpeedRpm(pulses[i].TimeS) / 60), -1e-9, 1e-9);
            Assert.Equal(spin.MarkTimeS(pulses[i].Mark), pulses[i].TimeS, 1e-9);
        }
    }

    [Fact]
    public void A_mark_is_as_wide_in_angle_at_every_speed()
    {
        SimulatedSpin spin = Play(new SensorSettings { MarkWidthTurns = 0.03 });
        foreach (SimulatedPulse pulse in spin.Pulses())
            Assert.Equal(0.03, spin.Motion.Turns(pulse.TimeS + pulse.WidthS) - spin.Motion.Turns(pulse.TimeS), 1e-5);
    }

    [Fact]
    public void Jitter_is_white_and_as_large_as_told()
    {
        SimulatedSpin spin = Play(new SensorSettings { JitterS = 20e-6 });
        double[] errors = [.. spin.Pulses().Select(pulse => pulse.TimeS - spin.MarkTimeS(pulse.Mark))];
        double variance = errors.Average(error => error * error);
        double neighbours = errors.Zip(errors.Skip(1), (a, b) => a * b).Average() / variance;

        Assert.InRange(Math.Sqrt(variance), 19.4e-6, 20.6e-6);
        Assert.InRange(neighbours, -0.04, 0.04);
    }

    [Fact]
    public void Wobble_moves_marks_slowly_and_most_before_the_fall()
    {
        SimulatedSpin spin = Play(new SensorSettings { WobbleTurns = 0.001, WobbleGrowth = 8 });
        double[] errors = [.. spin.Pulses().Select(pulse => spin.Motion.Turns(pulse.TimeS) + spin.StartTurns - pulse.Mark)];
        double[] fast = errors[200..2000];
        double neighbours = fast.Zip(fast.Skip(1), (a, b) => a * b).Sum() / fast.Sum(error => error * error);

        Assert.InRange(errors[^200..].Max(Math.Abs), 0.005, 0.00801);
        Assert.InRange(errors[200..600].Max(Math.Abs), 0.0009, 0.0015);
        Assert.True(neighbours > 0.9);
    }

    [Fact]
    public void Misses_and_glints_come_as_often_as_told_and_change_nothing_else()
    {
        var faults = new SensorSettings { MissProbability = 0.03, RandomGlintsPerTurn = 0.03, FixedGlintProbability = 0.02, JitterS = 1e-6 };
        SimulatedSpin spin = Play(faults);
        SimulatedPulse[] pulses = [.. spin.Pulses()];
        SimulatedPulse[] marks = [.. pulses.Where(pulse => pulse.Origin == PulseOrigin.Mark)];
        double passed = spin.Spins[0].LaunchTurns + spin.Spins[0].FreeTurns;

        Assert.InRange(marks.Length / passed, 0.965, 0.975);
        Assert.InRange(pulses.Count(pulse => pulse.Origin == PulseOrigin.RandomGlint) / passed, 0.025, 0.035);
        Assert.InRange(pulses.Count(pulse => pulse.Origin == PulseOrigin.FixedGlint) / passed, 0.017, 0.023);
        Dictionary<long, double> alone = Play(faults with { MissProbability = 0, RandomGlintsPerTurn = 0, FixedGlintProbability = 0 })
            .Pulses().ToDictionary(pulse => pulse.Mark, pulse => pulse.TimeS);
        Assert.All(marks, mark => Assert.Equal(alone[mark.Mark], mark.TimeS, 1e-5));
    }

    [Fact]
    public void Misses_in_bursts_come_in_bursts()
    {
        SimulatedSpin spin = Play(new SensorSettings { MissBurstProbability = 0.005, MissBurstMarks = 10 }, new SpinPlan().Lasting(1500));
        long[] marks = [.. spin.Pulses().Select(pulse => pulse.Mark)];
        long[] gaps = [.. marks.Zip(marks.Skip(1), (a, b) => b - a - 1).Where(missed => missed > 0)];

        Assert.InRange(gaps.Average(), 7, 13);
        Assert.True(gaps.Length > 50);
    }

    [Fact]
    public void A_bounce_keeps_the_marks_moment_and_adds_edges_within_it()
    {
        var settings = new SensorSettings { BounceProbability = 1 };
        double? markS = null;
        foreach (SimulatedPulse pulse in Play(settings).Pulses())
        {
            if (pulse.Origin == PulseOrigin.Mark)
                markS = pulse.TimeS;
            else
                Assert.InRange(pulse.TimeS - markS!.Value, 0, settings.BounceS);
        }
    }

    [Theory]
    [InlineData(100)]
    [InlineData(120)]
    public void A_lamp_alone_gives_its_flashes_and_no_mark(double hz)
    {
        SimulatedSpin spin = Play(new SensorSettings { Lamp = LampLight.Alone, LampHz = hz });
        SimulatedPulse[] pulses = [.. spin.Pulses()];

        Assert.All(pulses, pulse => Assert.Equal(PulseOrigin.Lamp, pulse.Origin));
        Assert.InRange(pulses.Length, (spin.Motion.DurationS * hz) - 2, (spin.Motion.DurationS * hz) + 2);
    }

    [Fact]
    public void A_lamp_at_rest_is_dark_while_the_body_turns()
    {
        SimulatedSpin spin = Play(new SensorSettings { Lamp = LampLight.AtRest });
        SimulatedPulse[] lamp = [.. spin.Pulses().Where(pulse => pulse.Origin == PulseOrigin.Lamp)];

        Assert.NotEmpty(lamp);
        Assert.All(lamp, pulse => Assert.False(pulse.TimeS > spin.Spins[0].LaunchS + 0.001 && pulse.TimeS < spin.Spins[0].StopS - 0.001));
    }

    [Fact]
    public void Everything_is_dark_while_the_sensor_is_blind()
    {
        SimulatedSpin spin = Play(new SensorSettings { Lamp = LampLight.MixedIn, Blind = [new(20, 40)] });

        Assert.DoesNotContain(spin.Pulses(), pulse => pulse.TimeS is >= 20 and < 40);
        Assert.Contains(spin.Pulses(), pulse => pulse.TimeS is > 40 and < 41);
    }

    [Fact]
    public void With_all_faults_at_once_pulses_are_in_order_and_never_overlap()
    {
        SimulatedSpin spin = Play(
            new SensorSettings
            {
                MarkOffsetsTurns = SensorSettings.Evenly(5, 0.06),
                JitterS = 30e-6,
                WobbleTurns = 0.001,
                MissProbability = 0.03,
                MissBurstProbability = 0.001,
                RandomGlintsPerTurn = 0.3,
                FixedGlintProbability = 0.5,
                BounceProbability = 0.2,
                Lamp = LampLight.MixedIn,
                LampSeenProbability = 0.1,
            },
            new SpinPlan { HandFlashes = 5, RollingS = 2, RollingFlashes = 9 }.Lasting(300));
        double endS = 0;
        foreach (SimulatedPulse pulse in spin.Pulses())
        {
            Assert.True(pulse.TimeS >= endS, $"{pulse} begins before {endS}");
            endS = pulse.TimeS + pulse.WidthS;
        }

        Assert.Equal(Enum.GetValues<PulseOrigin>(), spin.Pulses().Select(pulse => pulse.Origin).Distinct().Order());
    }

    [Fact]
    public void Marks_that_overlap_are_refused() =>
        Assert.Throws<ArgumentException>(() => Play(new SensorSettings { MarkOffsetsTurns = [0, 0.5, 0.51] }));

    private static SimulatedSpin Play(SensorSettings sensor, SpinPlan? plan = null) => new(new SpinScenario
    {
        Seed = 11,
        RestAfterS = 5,
        Spins = [plan ?? new SpinPlan().Lasting(300)],
        Sensor = sensor,
    });
}
