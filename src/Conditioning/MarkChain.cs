namespace Acquire.Conditioning;

/// <summary>Finds, among the pulses of late, those that follow each other as the marks of one body would while others lie between
/// them.</summary>
internal static class MarkChain
{
    private const int FurthestBack = 4; // the mark before the last is among so many pulses

    /// <summary>Finds a chain that ends with the last pulse. Of several that of the shortest interval is taken: a comb with every second
    /// tooth fits whatever the full comb fits.</summary>
    /// <param name="ticks">Moments of the pulses, rising.</param>
    /// <param name="chosen">Receives the places of the chain's pulses, rising; its length is how many are needed.</param>
    /// <param name="mostSkipped">So many pulses may lie between those of the chain, in all.</param>
    /// <param name="tolerance">How much an interval may differ from what the two before it foretell, as a share.</param>
    /// <param name="shortest">Least interval, ticks.</param>
    /// <param name="longest">Longest interval, ticks.</param>
    public static bool TryFind(ReadOnlySpan<long> ticks, Span<int> chosen, int mostSkipped, double tolerance, double shortest, double longest)
    {
        int last = ticks.Length - 1;
        for (int back = 1; back <= FurthestBack && back <= last; back++)
        {
            double interval = ticks[last] - ticks[last - back];
            if (interval > longest)
                return false;
            if (interval < shortest)
                continue;
            chosen[^1] = last;
            chosen[^2] = last - back;
            if (Continues(ticks, chosen, tolerance, shortest, longest) && chosen[^1] - chosen[0] + 1 - chosen.Length <= mostSkipped)
                return true;
        }

        return false;
    }

    // Goes back in time: each interval is foretold from the two after it, since a launch is nothing like even.
    private static bool Continues(ReadOnlySpan<long> ticks, Span<int> chosen, double tolerance, double shortest, double longest)
    {
        double next = ticks[chosen[^1]] - ticks[chosen[^2]];
        double change = 0;
        for (int at = chosen.Length - 3; at >= 0; at--)
        {
            double from = ticks[chosen[at + 1]];
            double foretold = next + change;
            int nearest = -1;
            double least = double.PositiveInfinity;
            for (int i = chosen[at + 1] - 1; i >= 0 && from - ticks[i] < 1.7 * next; i--)
            {
                double off = Math.Abs(from - ticks[i] - foretold);
                if (off < least)
                    (nearest, least) = (i, off);
            }

            if (nearest < 0)
                return false;
            double interval = from - ticks[nearest];
            double allowed = at == chosen.Length - 3 ? 0.5 * next : tolerance * next;
            if (least > allowed || interval < 0.6 * next || interval < shortest || interval > longest)
                return false;
            change = interval - next;
            next = interval;
            chosen[at] = nearest;
        }

        return true;
    }
}
