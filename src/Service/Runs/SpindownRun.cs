using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Losses;
using Acquire.Service.Display;

namespace Acquire.Service.Runs;

/// <summary>A run and how it slowed.</summary>
/// <param name="Run">The run.</param>
/// <param name="Spin">How it slowed.</param>
/// <param name="Body">The body and the air about it; null where no rotor is given.</param>
internal sealed record SpindownRun(RunData Run, SpinDown Spin, DragBody? Body)
{
    /// <summary>Works it out.</summary>
    /// <param name="run">The run.</param>
    /// <param name="bands">The bands of speed.</param>
    /// <param name="body">The body; null where none is given.</param>
    /// <exception cref="RunFormatException">The pulses cannot be read.</exception>
    public static SpindownRun Of(RunData run, IReadOnlyList<SpeedBand> bands, DragBody? body) =>
        new(run, SpinDown.Of(Course(run), bands, Law(run)), body);

    /// <summary>The run as its spin-down sees it.</summary>
    public static SpinCourse Course(RunData run)
    {
        double stopS = run.Descriptor.Result.StopS;
        double lastS = run.Speed.Where(p => double.IsFinite(p.Rpm)).Select(p => p.TimeS).DefaultIfEmpty(0).Last();
        double uRate = run.Descriptor.Clock.URatePpm;
        return new SpinCourse(run.Speed, run.ReleaseS, double.IsFinite(stopS) ? Math.Min(stopS, lastS + 1) : lastS, double.IsFinite(uRate) ? uRate : 0);
    }

    /// <summary>The loss law of a run's free spin, by its marks; by its speeds where it has none.</summary>
    /// <returns>Null where the run has too few of both, or no law explains them.</returns>
    /// <exception cref="RunFormatException">The pulses cannot be read.</exception>
    public static FittedLaw? Law(RunData run)
    {
        SpinCourse course = Course(run);
        (double fromS, double toS) = course.FreePart;
        if (!(toS > fromS)) return null;
        return run.HasMarks
            ? LossLawFit.Of(SpinMarks.Of(run.ReadPulses(), fromS, toS), course.URatePpm, run.Descriptor.Wobble?.ConstantPerS2)
            : LossLawFit.Of(run.Speed, fromS, toS, course.URatePpm);
    }

    /// <summary>Deceleration at a speed by the speed curve itself, rad/s²; by the law where the signal was lost there.</summary>
    public Estimate Deceleration(double rpm)
    {
        const double RadPerS = Math.PI / 30;
        for (int i = 1; i < Run.Speed.Count; i++)
        {
            (SpeedPoint a, SpeedPoint b) = (Run.Speed[i - 1], Run.Speed[i]);
            if (a.TimeS < Run.ReleaseS || !(a.Rpm >= rpm && b.Rpm <= rpm) || a.Rpm == b.Rpm) continue;
            double share = (a.Rpm - rpm) / (a.Rpm - b.Rpm);
            double value = a.DecelRpmPerS + (share * (b.DecelRpmPerS - a.DecelRpmPerS));
            double u = a.UDecelRpmPerS + (share * (b.UDecelRpmPerS - a.UDecelRpmPerS));
            if (double.IsFinite(value) && double.IsFinite(u)) return new Estimate(value * RadPerS, u * RadPerS);
        }

        return Spin.Law?.Deceleration(rpm * RadPerS) ?? new Estimate(double.NaN, double.NaN);
    }

    /// <summary>Why a run has no decay time between two speeds, and between which it has; null where it has one.</summary>
    public static string? Problem(RunData run, double fromRpm, double toRpm)
    {
        SpinCourse course = Course(run);
        if (SpinSpan.Of(run.Speed, course.ReleaseS) is not { } span) return $"{run.Name}: no speed is known after the release";
        string reach = Text($"after its release the run is seen from {Math.Floor(span.HighestRpm)} down to {Math.Ceiling(span.LowestRpm)} rpm");
        string offer = span.Whole(fromRpm, toRpm) is { } whole && Math.Floor(whole.FromRpm) > Math.Ceiling(whole.ToRpm)
            ? Text($"; allowed within what was asked is --from {Math.Floor(whole.FromRpm)} --to {Math.Ceiling(whole.ToRpm)}") : "";
        if (fromRpm > span.HighestRpm || toRpm < span.LowestRpm)
            return Text($"{run.Name}: {(fromRpm > span.HighestRpm ? $"--from {fromRpm}" : $"--to {toRpm}")}: {reach}{offer}");
        foreach (SpinGap gap in span.Gaps)
        {
            double? lost = Within(fromRpm, gap) ? fromRpm : Within(toRpm, gap) ? toRpm : null;
            if (lost is not null) return $"{run.Name}: {lost} rpm was passed while the signal was lost, {Words(gap)}{offer}";
        }

        return DecayOf(course, fromRpm, toRpm) is null ? $"{run.Name}: it does not slow through both speeds; {reach}{offer}" : null;
    }

    /// <summary>A gap in words: when, how long, and the speeds about it.</summary>
    public static string Words(SpinGap gap) => Text(
        $"{Numbers.Clock(gap.FromS)} to {Numbers.Clock(gap.ToS)} after the first pulse ({gap.ToS - gap.FromS:0} s), from {gap.FromRpm:0} to {gap.ToRpm:0} rpm");

    private static DecayTime? DecayOf(SpinCourse course, double fromRpm, double toRpm) =>
        DecayTime.Between(course.Speed, course.ReleaseS, fromRpm, toRpm, course.URatePpm);

    private static bool Within(double rpm, SpinGap gap) => rpm < gap.FromRpm && rpm > gap.ToRpm;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
