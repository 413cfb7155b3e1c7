namespace Acquire.Motion;

/// <summary>Fits the speed at a moment from the piece of the run that it lies in, over a window as long as the law allows.</summary>
internal sealed class WindowFitter(
    IReadOnlyList<MarkSeries> pieces, int leastMarks, double longestHalfS, double shortestHalfS, double windowShare)
{
    private const double Worse = 1.35; // residuals that grow by more than this show that the window is too long for the law

    /// <summary>The fit at a moment; null where no piece covers it or it has too few marks.</summary>
    /// <param name="atS">Seconds.</param>
    /// <param name="afterEdge">On the border of two pieces take the later one.</param>
    public LocalFit? At(double atS, bool afterEdge)
    {
        MarkSeries? found = null;
        foreach (MarkSeries piece in pieces)
        {
            if (atS >= piece.TimeS[0] - 1e-9 && atS <= piece.TimeS[^1] + 1e-9 && (found is null || afterEdge))
                found = piece;
        }

        return found is null || found.Count < 5 ? null : Fit(found, atS);
    }

    private LocalFit Fit(MarkSeries piece, double atS)
    {
        double half = Math.Min(longestHalfS, HalfForLaw(piece, atS));
        LocalFit fit = Window(piece, atS, half);
        for (int i = 0; i < 8 && half > shortestHalfS && fit.Count > 2 * leastMarks; i++)
        {
            LocalFit shorter = Window(piece, atS, half / 2);
            if (shorter.Count < leastMarks || fit.ResidualRms <= Worse * shorter.ResidualRms)
                break;
            half /= 2;
            fit = shorter;
        }

        return fit;
    }

    // A share of speed over deceleration, found from a window that starts short and grows while it may.
    private double HalfForLaw(MarkSeries piece, double atS)
    {
        double half = 0.5;
        for (int i = 0; i < 8; i++)
        {
            LocalFit fit = Window(piece, atS, half);
            double fall = Math.Abs(fit.Acceleration) + (2 * fit.UAcceleration);
            double allowed = fall > 0 ? windowShare * Math.Abs(fit.Speed) / fall : double.PositiveInfinity;
            if (allowed < half * 1.5)
                return Math.Max(half, shortestHalfS);
            half = Math.Min(Math.Min(2 * half, allowed), longestHalfS);
        }

        return half;
    }

    // Near an end the window is cut there: the fit is then one-sided, and its uncertainty says so.
    private LocalFit Window(MarkSeries piece, double atS, double half)
    {
        int from = piece.FirstAtOrAfter(atS - half);
        int to = piece.FirstAtOrAfter(atS + half);
        int least = Math.Min(leastMarks, piece.Count);
        while (to - from < least)
        {
            bool canLeft = from > 0;
            bool canRight = to < piece.Count;
            if (canLeft && (!canRight || atS - piece.TimeS[from - 1] < piece.TimeS[to] - atS))
                from--;
            else
                to++;
        }

        int degree = to - from >= leastMarks ? 4 : 2;
        return LocalFit.At(piece, from, to, atS, degree);
    }
}
