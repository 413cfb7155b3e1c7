using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Best;
using Acquire.Results.Losses;

namespace Acquire.Service.Runs;

/// <summary>The longest spin of a top with one set-up, and what limited it.</summary>
/// <param name="Run">The run.</param>
/// <param name="Runs">Runs of this top and set-up.</param>
/// <param name="BestLaunch">The run of the same top, whatever its set-up, that was released fastest.</param>
/// <param name="LowestFall">The run of the same top that stood down to the lowest speed, of those whose end was seen; null where there is none.</param>
internal sealed record BestSpin(LibraryRun Run, int Runs, LibraryRun BestLaunch, LibraryRun? LowestFall)
{
    private const double Sure = 2;
    private const double FallsApart = 1.03; // speeds of a fall differ by so much from run to run (common practice, no source)

    /// <summary>The run's descriptor.</summary>
    public RunDescriptor Descriptor => Run.Descriptor!;

    /// <summary>What came out.</summary>
    public RunResult Result => Descriptor.Result;

    /// <summary>Whether the end of the spin was seen, so that its time is no lower limit.</summary>
    public bool EndSeen => IsEndSeen(Descriptor);

    /// <summary>Time that the best launch of the same top would have added; null where this one was as fast, or it cannot be told.</summary>
    public GainedTime? LaunchGain { get; private init; }

    /// <summary>Time that a fall as late as the latest of the same top would have added; null where it fell as late, its end was not seen, or it cannot be told.</summary>
    public GainedTime? FallGain { get; private init; }

    /// <summary>What it lost its speed to; empty where no law could be fitted.</summary>
    public IReadOnlyList<BandLoss> Bands { get; private init; } = [];

    /// <summary>Whether a law of powers follows the spin.</summary>
    public bool FollowsLaw { get; private init; }

    /// <summary>Whether it was released slower than the best launch of the same top, beyond what the two are uncertain by.</summary>
    public bool StartedSlower => IsFaster(BestLaunch.Descriptor!.Result);

    /// <summary>Whether it fell at a higher speed than the same top has stood at.</summary>
    public bool FellEarly => EndSeen && LowestFall?.Descriptor!.Result.LastRpm is { } lowest && Result.LastRpm > FallsApart * lowest;

    /// <summary>Whether its loss law was looked for.</summary>
    public bool IsWorkedOut { get; private init; }

    /// <summary>The set-up without the top: base, cover and factors, for people.</summary>
    public static string Setup(RunSetup setup) => string.Join(", ", new[] { ("base", setup.Base), ("cover", setup.Cover) }.Where(s => s.Item2.Length > 0).Select(s => $"{s.Item1}={s.Item2}")
        .Concat(setup.Factors.Select(f => FormattableString.Invariant($"{f.Key}={f.Value}"))));

    /// <summary>The longest spin of each top and set-up, the longest of all first; who launched it is no part of the set-up.</summary>
    public static IReadOnlyList<BestSpin> Of(IEnumerable<LibraryRun> runs)
    {
        LibraryRun[] timed = [.. runs.Where(r => r.Descriptor is { Result.SpinTimeS: > 0 })];
        return
        [
            .. timed.GroupBy(r => r.Descriptor!.Setup.Top).SelectMany(top =>
            {
                LibraryRun launch = top.MaxBy(r => double.IsFinite(r.Descriptor!.Result.PeakRpm) ? r.Descriptor.Result.PeakRpm : 0)!;
                LibraryRun? fall = top.Where(r => IsEndSeen(r.Descriptor!) && r.Descriptor!.Result.LastRpm > 0).MinBy(r => r.Descriptor!.Result.LastRpm);
                return top.GroupBy(r => Setup(r.Descriptor!.Setup)).Select(s => new BestSpin(s.MaxBy(r => r.Descriptor!.Result.SpinTimeS)!, s.Count(), launch, fall));
            }).OrderByDescending(s => s.Result.SpinTimeS),
        ];
    }

    /// <summary>The same with what limited it, by its loss law.</summary>
    /// <exception cref="RunFormatException">The run cannot be read.</exception>
    public BestSpin WorkedOut()
    {
        RunData run = RunData.Read(Run.Folder);
        FittedLaw? law = SpindownRun.Law(run);
        SpinCourse course = SpindownRun.Course(run);
        SpinSpan? span = SpinSpan.Of(run.Speed, run.ReleaseS);
        double bestRpm = BestLaunch.Descriptor!.Result.PeakRpm;
        return this with
        {
            IsWorkedOut = true,
            FollowsLaw = SpinLimits.IsFollowed(law),
            LaunchGain = IsFaster(BestLaunch.Descriptor.Result) ? SpinLimits.ByStart(course, law, bestRpm, Result.PeakRpm) : null,
            FallGain = FellEarly ? SpinLimits.ByFall(course, law, Result.LastRpm, LowestFall!.Descriptor!.Result.LastRpm) : null,
            Bands = span is { } s && Math.Floor(s.HighestRpm) > Math.Ceiling(s.LowestRpm) && s.LowestRpm > 0
                ? SpinLimits.ByBand(course, law, SpeedBands.Between(Math.Floor(s.HighestRpm), Math.Ceiling(s.LowestRpm))) : [],
        };
    }

    /// <summary>Whether a time was reached; null where the uncertainty, or an end that was not seen, leaves it open.</summary>
    public bool? Reached(double targetS)
    {
        double beyond = Result.SpinTimeS - targetS;
        double u = double.IsFinite(Result.USpinTimeS) ? Sure * Result.USpinTimeS : 0;
        return beyond > u ? true : beyond < -u && EndSeen ? false : null;
    }

    private bool IsFaster(RunResult other)
    {
        double u = double.Hypot(double.IsFinite(other.UPeakRpm) ? other.UPeakRpm : 0, double.IsFinite(Result.UPeakRpm) ? Result.UPeakRpm : 0);
        return Result.PeakRpm > 0 && other.PeakRpm - Result.PeakRpm > Sure * u && other.PeakRpm > Result.PeakRpm;
    }

    private static bool IsEndSeen(RunDescriptor run) => run.EndReason == EndReasons.Stopped && run.Stop is not { Witnessed: false };
}
