using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Forecasting;
using Acquire.Service.Runs;

namespace Acquire.Service.Forecasting;

/// <summary>What earlier spins of a top tell of the next.</summary>
internal static class EarlierRuns
{
    private const int MostSpins = 8;
    private const double AboveEnd = 1.03;
    private const double LeastReach = 0.9;

    /// <summary>The speed at which the next spin will end: by the earlier spins of the same top that ended by themselves, else assumed.</summary>
    /// <param name="library">The library.</param>
    /// <param name="top">The top; of one without a name nothing is known.</param>
    /// <param name="before">Spins begun from then on do not count.</param>
    public static EndSpeed Ends(string library, string top, DateTimeOffset before)
    {
        if (string.IsNullOrWhiteSpace(top) || !Directory.Exists(library)) return EndSpeed.Assumed;
        double[] last = [.. RunLibrary.List(library).Select(r => r.Descriptor).OfType<RunDescriptor>().Where(r => r.StartedAt < before && IsOf(r, top) && Ended(r)).Select(r => r.Result.LastRpm)];
        return last.Length == 0 ? EndSpeed.Assumed : EndSpeed.OfRuns(last);
    }

    /// <summary>What the last earlier spins of the same set-up did from a speed on; null where there are none that were seen that far.</summary>
    /// <param name="library">The library.</param>
    /// <param name="setup">The set-up; of a top without a name nothing is known. Who launched it does not matter.</param>
    /// <param name="before">Spins begun from then on do not count.</param>
    /// <param name="fromRpm">The speed.</param>
    public static EarlierSpins? Spins(string library, RunSetup setup, DateTimeOffset before, double fromRpm)
    {
        if (string.IsNullOrWhiteSpace(setup.Top) || !Directory.Exists(library)) return null;
        LibraryRun[] like = [.. RunLibrary.List(library).Where(r => r.Descriptor is { } d && d.StartedAt < before && Ended(d) && IsLike(d.Setup, setup) && d.Result.PeakRpm > fromRpm)
            .OrderBy(r => r.Descriptor!.StartedAt).TakeLast(MostSpins)];
        if (like.Length == 0) return null;
        double toRpm = AboveEnd * like.Max(r => r.Descriptor!.Result.LastRpm);
        if (toRpm > LeastReach * fromRpm) return null;
        double[] products = [.. like.Select(r => Product(RunData.Read(r.Folder), fromRpm, toRpm)).Where(p => p > 0 && double.IsFinite(p))];
        return products.Length == 0 ? null : EarlierSpins.Of(toRpm, products);
    }

    private static double Product(RunData run, double fromRpm, double toRpm)
    {
        int at = run.Speed.Index().Skip(1).Where(p => run.Speed[p.Index - 1].TimeS >= run.ReleaseS && run.Speed[p.Index - 1].Rpm >= fromRpm && p.Item.Rpm < fromRpm).Select(p => p.Index).FirstOrDefault();
        if (at == 0 || DecayTime.Between(run.Speed, run.ReleaseS, fromRpm, toRpm, 0) is not { } time) return double.NaN;
        (SpeedPoint a, SpeedPoint b) = (run.Speed[at - 1], run.Speed[at]);
        double share = (a.Rpm - fromRpm) / (a.Rpm - b.Rpm);
        return time.Seconds * (a.DecelRpmPerS + (share * (b.DecelRpmPerS - a.DecelRpmPerS))) * Math.PI / 30;
    }

    private static bool IsLike(RunSetup one, RunSetup other) =>
        Same(one.Top, other.Top) && Same(one.Base, other.Base) && Same(one.Cover, other.Cover)
        && one.Factors.Count == other.Factors.Count && one.Factors.All(f => other.Factors.TryGetValue(f.Key, out double value) && value == f.Value);

    private static bool Same(string one, string other) => one.Trim().Equals(other.Trim(), StringComparison.OrdinalIgnoreCase);

    private static bool IsOf(RunDescriptor run, string top) => Same(run.Setup.Top, top);

    // Where nothing was seen after the last mark the body may have spun on, slower.
    private static bool Ended(RunDescriptor run) =>
        run.EndReason == EndReasons.Stopped && run.Stop is not { Witnessed: false } && run.Result.LastRpm > 0 && double.IsFinite(run.Result.LastRpm);
}
