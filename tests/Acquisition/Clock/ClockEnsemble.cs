using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Simulation;

namespace Acquire.Acquisition.Tests.Clock;

/// <summary>Many boards with clocks and delays of their own, each fitted; how near the rates come and how often the stated interval
/// holds the truth.</summary>
internal sealed record ClockEnsemble
{
    private const double TickHz = 2_000_000;

    internal double WindowS { get; init; } = 3600;

    internal double DelayMeanS { get; init; } = 0.004;

    internal double DelayLimitS { get; init; } = 0.016;

    internal double RequestMeanS { get; init; } = 0.001;

    internal double TimeScale { get; init; } = 1;

    internal double StatusEveryS { get; init; } = 1;

    /// <summary>How unevenly status lines come, share of their interval; a board sends them to the tick.</summary>
    internal double StatusJitter { get; init; } = 0.001;

    internal double LargestRatePpm { get; init; } = 5000;

    internal double AskEveryS { get; init; }

    internal double StallProbability { get; init; }

    internal double DriftPpm { get; init; }

    internal double CyclePpm { get; init; }

    internal int Restarts { get; init; }

    internal bool LatencyTimer { get; init; }

    internal bool UniformDelay { get; init; }

    /// <summary>A delay that grows in the course of the window, s: what the leading edge of a mark would give as the body slows.</summary>
    internal double GrowingDelayS { get; init; }

    internal EnsembleResult Run(int seeds)
    {
        var errors = new List<double>(seeds);
        int held = 0;
        double stated = 0;
        int nominal = 0;
        for (int seed = 1; seed <= seeds; seed++)
        {
            (ClockEstimate estimate, double truth) = One(seed);
            double error = estimate.RatePpm - truth;
            errors.Add(Math.Abs(error));
            stated += estimate.URatePpm / seeds;
            held += Math.Abs(error) <= 1.96 * estimate.URatePpm ? 1 : 0;
            nominal += estimate.Method == ClockMethod.Nominal ? 1 : 0;
        }

        errors.Sort();
        return new EnsembleResult(held / (double)seeds, errors[^1], errors[seeds * 95 / 100], stated, nominal);
    }

    internal (ClockEstimate Estimate, double TruthPpm) One(int seed)
    {
        var noise = new SeededNoise(seed, 60);
        double rate = noise.Uniform(-LargestRatePpm, LargestRatePpm);
        var board = new BoardClock(new BoardSettings { RatePpm = rate, DriftPpm = DriftPpm, CyclePpm = CyclePpm, CounterStart = seed * 1000L });
        var fit = new ClockFit(TickHz);
        double askS = AskEveryS > 0 ? AskEveryS * noise.Uniform() : double.PositiveInfinity;
        double statusS = StatusEveryS > 0 ? StatusEveryS * noise.Uniform() : double.PositiveInfinity;
        double restartS = WindowS / (Restarts + 1);
        double nextRestartS = restartS;
        while (Math.Min(askS, statusS) < WindowS)
        {
            double nowS = Math.Min(askS, statusS);
            if (Restarts > 0 && nowS > nextRestartS)
            {
                nextRestartS += restartS;
                fit.Reset();
            }

            if (statusS <= askS)
            {
                double arrivedS = nowS + ToHostS(nowS, noise);
                fit.AddOneWay(board.Ticks(nowS), HostNs(arrivedS));
                statusS += StatusEveryS * noise.Uniform(1 - StatusJitter, 1 + StatusJitter) / (1 + (rate * 1e-6));
            }
            else
            {
                double receivedS = nowS + 0.0005 + Math.Min(DelayLimitS, noise.Exponential(RequestMeanS));
                double answeredS = receivedS + ToHostS(receivedS, noise);
                fit.AddTwoWay(HostNs(nowS), board.Ticks(receivedS), HostNs(answeredS));
                askS += AskEveryS;
            }
        }

        return (fit.Estimate(), board.MeanRatePpm(0, WindowS));
    }

    private double ToHostS(double sentS, SeededNoise noise)
    {
        double delayS = 0.0023 + (GrowingDelayS * sentS / WindowS);
        delayS += UniformDelay ? DelayLimitS * noise.Uniform() : Math.Min(DelayLimitS, noise.Exponential(DelayMeanS));
        if (noise.Chance(StallProbability))
            delayS += noise.Exponential(2);
        if (LatencyTimer)
            delayS = (Math.Ceiling((sentS + delayS) / 0.016) * 0.016) - sentS;
        return delayS * TimeScale;
    }

    private static long HostNs(double timeS) => 5_000_000_000 + (long)Math.Round(timeS * 1e9);
}

/// <summary>What an ensemble showed; rates in ppm.</summary>
internal readonly record struct EnsembleResult(double Coverage, double WorstPpm, double Error95Ppm, double MeanStatedPpm, int Nominal);
