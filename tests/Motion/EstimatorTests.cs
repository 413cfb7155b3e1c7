using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

public sealed class EstimatorTests
{
    private static JudgedRun Judge(ExactSpin spin, IEnumerable<Pulse> pulses) =>
        RunJudge.Judge([.. pulses], new TrackerSettings { TickHz = spin.TickHz, MarksPerTurn = spin.MarkOffsets.Length });

    private static SpinEstimate Estimate(ExactSpin spin, double jitterS, int seed, out double firstS)
    {
        var random = new Random(seed);
        var times = spin.Marks().Select(m => m.TimeS + (jitterS * ExactSpin.Normal(random))).ToList();
        JudgedRun run = Judge(spin, times.Select(t => spin.PulseAt(t)));
        firstS = run.Pulses[0].Ticks / spin.TickHz;
        return SpinEstimator.Estimate(MarkSeries.From(run.Pulses, 1 / spin.TickHz), spin.MarkOffsets.Length, 1);
    }

    [Fact]
    public void Without_jitter_speed_is_right_to_a_few_parts_in_a_million()
    {
        var spin = new ExactSpin();
        SpinEstimate found = Estimate(spin, 0, 1, out double firstS);
        foreach (SpeedPoint p in found.Speed.Where(p => p.TimeS + firstS > spin.ReleaseS + 2 && p.TimeS + firstS < spin.StopS - 1))
            Assert.Equal(1, p.Rpm / (60 * spin.SpeedAt(p.TimeS + firstS)), 3e-6);
    }

    [Theory]
    [InlineData(2e-5)]
    [InlineData(2e-4)]
    public void Speed_and_deceleration_are_right_within_what_is_stated(double jitterS)
    {
        var spin = new ExactSpin();
        var speedErrors = new List<double>();
        var decelErrors = new List<double>();
        for (int seed = 0; seed < 12; seed++)
        {
            SpinEstimate found = Estimate(spin, jitterS, seed, out double firstS);
            foreach (SpeedPoint p in found.Speed.Where(p => p.TimeS + firstS > spin.ReleaseS + 1 && p.TimeS + firstS < spin.StopS - 1))
            {
                double rpm = 60 * spin.SpeedAt(p.TimeS + firstS);
                speedErrors.Add((p.Rpm - rpm) / p.URpm);
                decelErrors.Add((p.DecelRpmPerS - (rpm / spin.TauS)) / p.UDecelRpmPerS);
                Assert.Equal(rpm, p.Rpm, 0.01 * rpm);
            }
        }

        // 95 % of normal deviates lie within 1.96; the band leaves room for the sample, neighbours sharing their marks.
        Assert.InRange(speedErrors.Count(e => Math.Abs(e) < 1.96) / (double)speedErrors.Count, 0.90, 1.0);
        Assert.InRange(decelErrors.Count(e => Math.Abs(e) < 1.96) / (double)decelErrors.Count, 0.90, 1.0);
        Assert.InRange(Math.Sqrt(speedErrors.Average(e => e * e)), 0.75, 1.2);
        Assert.InRange(Math.Sqrt(decelErrors.Average(e => e * e)), 0.75, 1.2);
    }

    [Fact]
    public void Release_and_stop_are_found_within_a_turn()
    {
        var spin = new ExactSpin();
        SpinEstimate found = Estimate(spin, 2e-5, 5, out double firstS);
        Assert.Equal(spin.ReleaseS, found.ReleaseS + firstS, 1 / spin.PeakTurnsPerS);
        Assert.Equal(spin.StopS, found.StopS + firstS, 1 / spin.LastTurnsPerS);
        Assert.Equal(60 * spin.SpeedAt(found.ReleaseS + firstS), found.PeakRpm, 4 * found.UPeakRpm);
        Assert.InRange(found.UPeakRpm, 1e-4, 2);
    }

    // Cramér-Rao bounds of event times with white Gaussian jitter: a quadratic t = a + bk + ck² over N marks has
    // var b = 12σ²/[N(N²−1)] at the centre and var c = 180σ²/[N(N²−1)(N²−4)] (Kay, Fundamentals of Statistical Signal Processing:
    // Estimation Theory, 1993, chapter 3, from memory; the numbers recomputed by an exact inverse).
    [Fact]
    public void A_local_fit_states_the_Cramér_Rao_bound_of_its_window()
    {
        const int N = 101;
        const double PeriodS = 0.01;
        const double JitterS = 1e-6;
        (double speed, double bend) = (0, 0);
        const int Seeds = 2000;
        for (int seed = 0; seed < Seeds; seed++)
        {
            var random = new Random(seed);
            double[] time = [.. Enumerable.Range(0, N).Select(k => (k * PeriodS) + (JitterS * ExactSpin.Normal(random)))];
            double[] turns = [.. Enumerable.Range(0, N).Select(k => (double)k)];
            LocalFit fit = LocalFit.At(new MarkSeries(time, turns), 0, N, 0.5, 2);
            speed += fit.USpeed * fit.USpeed / Seeds;
            bend += fit.UAcceleration * fit.UAcceleration / Seeds;
        }

        Assert.Equal(3.412949e-5, Math.Sqrt(speed), 0.03 * 3.412949e-5); // σ_f in Hz
        Assert.Equal(2.617998e-4, Math.Sqrt(bend), 0.03 * 2.617998e-4);  // σ of df/dt in Hz/s
    }

    [Fact]
    public void Where_the_signal_was_lost_nothing_is_invented()
    {
        var spin = new ExactSpin();
        JudgedRun run = Judge(spin, spin.Marks().Where(m => m.TimeS is < 60 or > 95).Select(m => spin.PulseAt(m.TimeS)));
        SpinEstimate found = SpinEstimator.Estimate(MarkSeries.From(run.Pulses, 1 / spin.TickHz), 1, 1);
        double firstS = run.Pulses[0].Ticks / spin.TickHz;
        Assert.All(found.Speed, p => Assert.Equal(p.TimeS + firstS is > 60 and < 95, double.IsNaN(p.Rpm)));
        (double fromS, double toS) = Assert.Single(found.Gaps);
        Assert.Equal(35, toS - fromS, 0.2);
    }

    [Theory]
    [InlineData(30, 0)]
    [InlineData(120, 0)]
    [InlineData(300, 1)]
    public void Turns_across_a_gap_are_counted_from_both_sides(double awayS, double mayDiffer)
    {
        var spin = new ExactSpin { TauS = 600 };
        var random = new Random(11);
        var truth = spin.Marks().Where(m => m.TimeS < 60 || m.TimeS > 60 + awayS).ToList();
        JudgedRun run = Judge(spin, truth.Select(m => spin.PulseAt(m.TimeS + (2e-5 * ExactSpin.Normal(random)))));
        run = GapBridge.Settle(run, 1 / spin.TickHz, 1);
        double difference = Math.Abs(run.Pulses[^1].Turns - truth[^1].Turns);
        Bridge bridge = Assert.Single(run.Bridges);
        Assert.True(difference <= Math.Max(mayDiffer, 0) && difference <= 3 * bridge.UTurns + 0.5, $"{difference} turns off, u {bridge.UTurns}");
        Assert.InRange(bridge.UTurns, 0, 3);
    }
}
