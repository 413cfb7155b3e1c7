namespace Acquire.Service.Import;

/// <summary>Finds which times of a file rise, with as few left out as possible: one time far ahead then costs itself and not all that follow.</summary>
internal static class TimeOrder
{
    /// <summary>Indices of a longest strictly rising sequence (patience sorting; Fredman, Discrete Mathematics 11 (1975) 29, from memory).</summary>
    public static int[] LongestRise(IReadOnlyList<long> times)
    {
        if (Rises(times))
            return [.. Enumerable.Range(0, times.Count)];
        var tails = new List<int>();
        int[] before = new int[times.Count];
        for (int i = 0; i < times.Count; i++)
        {
            int at = FirstNotBelow(tails, times, times[i]);
            before[i] = at > 0 ? tails[at - 1] : -1;
            if (at == tails.Count)
                tails.Add(i);
            else if (times[tails[at]] > times[i])
                tails[at] = i;
        }

        int[] rise = new int[tails.Count];
        for (int i = tails.Count > 0 ? tails[^1] : -1, k = tails.Count - 1; i >= 0; i = before[i], k--)
            rise[k] = i;
        return rise;
    }

    private static bool Rises(IReadOnlyList<long> times)
    {
        for (int i = 1; i < times.Count; i++)
        {
            if (times[i] <= times[i - 1])
                return false;
        }

        return true;
    }

    private static int FirstNotBelow(List<int> tails, IReadOnlyList<long> times, long time)
    {
        (int low, int high) = (0, tails.Count);
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (times[tails[middle]] < time)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }
}
