namespace Acquire.Motion;

/// <summary>Marks that are none, or bounced: far from where all the others put them. One such would bend a window by more than all its
/// jitter.</summary>
/// <remarks>Median absolute deviation times 1.4826 is a normal standard deviation that a few strays do not move (Hampel 1974, from
/// memory).</remarks>
internal static class Strays
{
    private const double Far = 6;              // standard deviations: one in five hundred million by chance
    private const double MostShare = 0.05;     // more are no strays: the curve does not describe the marks
    private const int Neighbours = 200;        // on each side

    /// <summary>The marks without strays; null where there are none, or so many that they are none.</summary>
    public static MarkSeries? Without(MarkSeries marks, double[] rest)
    {
        bool[] stray = new bool[marks.Count];
        int strays = 0;
        double[] near = [];
        double limit = 0;
        for (int i = 0; i < marks.Count; i++)
        {
            if (i % Neighbours == 0)
            {
                int from = Math.Max(0, i - Neighbours);
                near = rest[from..Math.Min(marks.Count, i + (2 * Neighbours))];
                for (int k = 0; k < near.Length; k++)
                    near[k] = Math.Abs(near[k]);
                Array.Sort(near);
                limit = Far * 1.4826 * near[near.Length / 2];
            }

            stray[i] = Math.Abs(rest[i]) > limit;
            strays += stray[i] ? 1 : 0;
        }

        if (strays == 0 || strays > MostShare * marks.Count)
            return null;
        return new MarkSeries(
            [.. marks.TimeS.Where((_, i) => !stray[i])], [.. marks.Turns.Where((_, i) => !stray[i])]);
    }
}
