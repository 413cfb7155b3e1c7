using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;
using Acquire.Service.Display;
using Acquire.Service.Runs;

namespace Acquire.Service.Forecasting;

/// <summary>A finished run and its forecast as it stood at a moment.</summary>
/// <param name="Run">The run.</param>
/// <param name="AtS">The moment, seconds after the release.</param>
/// <param name="Forecast">The forecast.</param>
/// <param name="IsOver">Whether the spin had ended by then.</param>
internal sealed record RunForecast(RunData Run, double AtS, SpinForecast Forecast, bool IsOver)
{
    private const double LeastS = 3;

    /// <summary>Time left, s.</summary>
    public Spread RemainingS => IsOver ? default : Forecast.RemainingS;

    /// <summary>The speed that it began with, turns a minute.</summary>
    public double StartRpm => Run.Descriptor.Result.PeakRpm > 0 ? Run.Descriptor.Result.PeakRpm : Run.Speed.Where(p => double.IsFinite(p.Rpm)).Select(p => p.Rpm).DefaultIfEmpty(1).Max();

    /// <summary>Works it out from what was seen until a moment, and nothing later.</summary>
    /// <param name="run">The run.</param>
    /// <param name="untilS">The moment, seconds after the release; null for all that there is.</param>
    /// <param name="given">The speed at which it ends, where the user or a body's file says; else null.</param>
    /// <param name="problem">What is wrong.</param>
    /// <returns>Null where it cannot be told.</returns>
    /// <exception cref="RunFormatException">The pulses cannot be read.</exception>
    public static RunForecast? Of(RunData run, double? untilS, EndSpeed? given, out string? problem)
    {
        SpinCourse course = SpindownRun.Course(run);
        bool isOver = untilS is null && run.Descriptor.EndReason == EndReasons.Stopped;
        double atS = untilS ?? (course.StopS - run.ReleaseS);
        problem = atS < LeastS || atS > course.StopS - run.ReleaseS + 1
            ? string.Create(CultureInfo.InvariantCulture, $"{run.Name}: --until {atS:0.###}; allowed is a moment from {LeastS} s after the release to the end of the run, {Math.Floor(course.StopS - run.ReleaseS)} s after it") : null;
        if (problem is not null) return null;
        double toS = run.ReleaseS + atS;
        LawEvidence? evidence = run.HasMarks ? OfMarks(run, toS, isOver) : OfSpeeds(run, toS, isOver);
        if (evidence is null)
        {
            problem = $"{run.Name}: what was seen in the first {Numbers.ClockTenths(atS)} after the release is too little to forecast from; ask for a later moment with --until";
            return null;
        }

        double last = run.Descriptor.Result.LastRpm;
        string library = Path.GetDirectoryName(run.Folder)!;
        (RunSetup setup, DateTimeOffset began) = (run.Descriptor.Setup, run.Descriptor.StartedAt);
        EndSpeed end = isOver && last > 0 ? new EndSpeed(last, 0, double.PositiveInfinity, EndBasis.Seen) : given ?? EarlierRuns.Ends(library, setup.Top, began);
        double uRate = run.Descriptor.Clock.URatePpm;
        return new RunForecast(run, atS, SpinForecast.Of(
            evidence, end, double.IsFinite(uRate) ? uRate * 1e-6 : 0, isOver ? 0 : toS - evidence.ToS,
            Seen(run, toS), isOver ? null : EarlierRuns.Spins(library, setup, began, evidence.LastRpm)), isOver);
    }

    // Cells narrow enough for the loss to be nearly even in each.
    private static List<SeenCell> Seen(RunData run, double toS)
    {
        const double Ratio = 1.12;
        SpeedPoint[] passed = [.. run.Speed.Where(p => p.TimeS <= toS)];
        if (SpinSpan.Of(passed, run.ReleaseS) is not { } span) return [];
        var cells = new List<SeenCell>();
        for (double from = span.HighestRpm; from > span.LowestRpm * 1.0001;)
        {
            double to = from / Ratio > span.LowestRpm * 1.03 ? from / Ratio : span.LowestRpm * 1.0001;
            if (DecayTime.Between(passed, run.ReleaseS, from, to, 0) is { Seconds: > 0 } time) cells.Add(new SeenCell(new SpeedBand(from, to), time.Seconds));
            from = to;
        }

        return cells;
    }

    private static LawEvidence? OfMarks(RunData run, double toS, bool isOver)
    {
        RunPulses pulses = run.ReadPulses();
        double endS = isOver ? SpinMarks.FreePart(run.ReleaseS, toS).ToS : toS;
        int[] marks = [.. Enumerable.Range(0, pulses.Count).Where(i => pulses.TimeS[i] <= endS && pulses.Mark[i] >= 0 && double.IsFinite(pulses.Turns[i]))];
        if (marks.Length < 8) return null;
        var series = new MarkSeries([.. marks.Select(i => pulses.TimeS[i])], [.. marks.Select(i => pulses.Turns[i])]);
        Wobble? wobble = SpinEstimator.Estimate(series, Math.Max(1, run.Descriptor.Source.MarksPerTurn), Math.Max(1, series.TimeS[^1])).Wobble;
        return LawEvidence.OfLate(LawEvidence.Beginning(run.ReleaseS, endS), endS, wobble?.ConstantPerS2, (from, to) => LawEvidence.Of(SpinMarks.Of(pulses, from, to), wobble?.ConstantPerS2));
    }

    private static LawEvidence? OfSpeeds(RunData run, double toS, bool isOver)
    {
        double endS = isOver ? SpinMarks.FreePart(run.ReleaseS, toS).ToS : toS;
        return LawEvidence.OfLate(LawEvidence.Beginning(run.ReleaseS, endS), endS, null, (from, to) => LawEvidence.Of(run.Speed, from, to));
    }
}
