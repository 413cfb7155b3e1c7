using Acquire.Motion;

namespace Acquire.Recording;

/// <summary>A row of wobble.csv: a stretch of marks and how the body precessed there.</summary>
/// <param name="TimeS">The middle of the stretch, seconds from the first pulse of the run.</param>
/// <param name="Rpm">The speed there, turns a minute.</param>
/// <param name="RateHz">Precessions a second by the law that the rate goes as one over the speed; see <see cref="RunWobble"/>.</param>
/// <param name="URateHz">Its standard uncertainty, from those of the constant and of the speed.</param>
/// <param name="AmplitudeTurns">How far the wobble moves a mark, turns: the mean of the stretch.</param>
/// <param name="UAmplitudeTurns">Its standard uncertainty, from the scatter of the stretch's marks.</param>
public readonly record struct WobblePoint(double TimeS, double Rpm, double RateHz, double URateHz, double AmplitudeTurns, double UAmplitudeTurns)
{
    /// <summary>The rows of a wobble, in order of time.</summary>
    /// <param name="wobble">The wobble.</param>
    /// <param name="speed">The even grid of speed.csv, which says how well the speed is known.</param>
    public static IReadOnlyList<WobblePoint> Of(Wobble wobble, IReadOnlyList<SpeedPoint> speed)
    {
        SpeedPoint[] known = [.. speed.Where(p => double.IsFinite(p.Rpm) && double.IsFinite(p.URpm))];
        return [.. wobble.Sizes.OrderBy(size => size.TimeS).Select(size => Of(wobble, size, known))];
    }

    private static WobblePoint Of(Wobble wobble, in WobbleSize size, SpeedPoint[] known)
    {
        double rate = wobble.HzAt(size.Rpm);
        double uConstant = wobble.UConstantPerS2 / wobble.ConstantPerS2;
        return new WobblePoint(
            size.TimeS, size.Rpm, rate, rate * double.Hypot(uConstant, ShareAt(size.TimeS, known)), size.AmplitudeTurns, size.UAmplitudeTurns);
    }

    // Of the speed's uncertainty, by the point of the grid next to that moment; not known where there is none.
    private static double ShareAt(double timeS, SpeedPoint[] known)
    {
        if (known.Length == 0)
            return double.NaN;
        SpeedPoint next = known.MinBy(p => Math.Abs(p.TimeS - timeS));
        return next.URpm / next.Rpm;
    }
}
