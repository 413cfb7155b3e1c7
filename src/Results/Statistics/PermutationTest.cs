namespace Acquire.Results.Statistics;

/// <summary>How often two groups would differ as much if who is in which were chance: no bell curve is assumed. What is compared is Welch's t
/// without regard to its sign, so that groups that scatter unlike each other do not count as different for that alone (Janssen 1997,
/// Statistics &amp; Probability Letters 36, 9).</summary>
/// <param name="P">Two-sided probability.</param>
/// <param name="Arrangements">Arrangements looked at.</param>
/// <param name="Least">The least probability that groups of these sizes can show: those of one size have a mirror arrangement that is as far apart.</param>
/// <param name="IsExact">Whether these are all there are; else they were drawn with a fixed seed, and the one seen counts among them
/// (Phipson &amp; Smyth 2010).</param>
public readonly record struct PermutationTest(double P, long Arrangements, double Least, bool IsExact)
{
    /// <summary>Up to so many arrangements all are looked at.</summary>
    public const int MostExact = 50_000;

    private const int Drawn = 19_999;
    private const int Seed = 20_260_301;
    private const double Equal = 1e-9;

    /// <summary>Carries it out.</summary>
    /// <param name="first">The first group, of two or more.</param>
    /// <param name="second">The second, of two or more.</param>
    public static PermutationTest Of(IReadOnlyList<double> first, IReadOnlyList<double> second)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(first.Count, 2);
        ArgumentOutOfRangeException.ThrowIfLessThan(second.Count, 2);
        double mean = first.Concat(second).Average();
        double[] all = [.. first.Concat(second).Select(v => v - mean)];
        var order = Enumerable.Range(0, all.Length).ToArray();
        double seen = Statistic(all, order, first.Count) * (1 - Equal);
        double count = Choose(all.Length, first.Count);
        return count <= MostExact ? Exact(all, first.Count, seen) : ByChance(all, order, first.Count, seen);
    }

    private static PermutationTest Exact(double[] all, int size, double seen)
    {
        int[] order = new int[all.Length];
        int[] chosen = [.. Enumerable.Range(0, size)];
        (long asLarge, long count) = (0, 0);
        do
        {
            Arrange(order, chosen);
            count++;
            if (Statistic(all, order, size) >= seen)
                asLarge++;
        }
        while (Next(chosen, all.Length));
        double least = (2 * size == all.Length ? 2.0 : 1.0) / count;
        return new PermutationTest((double)asLarge / count, count, Math.Min(1, least), true);
    }

    private static PermutationTest ByChance(double[] all, int[] order, int size, double seen)
    {
        var random = new Random(Seed);
        int asLarge = 0;
        for (int i = 0; i < Drawn; i++)
        {
            random.Shuffle(order);
            if (Statistic(all, order, size) >= seen)
                asLarge++;
        }

        return new PermutationTest((asLarge + 1.0) / (Drawn + 1), Drawn, 1.0 / (Drawn + 1), false);
    }

    private static double Statistic(double[] all, int[] order, int size)
    {
        (double a, double va) = Moments(all, order.AsSpan(0, size));
        (double b, double vb) = Moments(all, order.AsSpan(size));
        double u = Math.Sqrt((va / size) + (vb / (all.Length - size)));
        double apart = Math.Abs(b - a);
        return u > 0 ? apart / u : apart > 0 ? double.PositiveInfinity : 0;
    }

    private static (double Mean, double Variance) Moments(double[] all, ReadOnlySpan<int> which)
    {
        double sum = 0;
        foreach (int i in which)
            sum += all[i];
        double mean = sum / which.Length;
        double squares = 0;
        foreach (int i in which)
            squares += (all[i] - mean) * (all[i] - mean);
        return (mean, squares / (which.Length - 1));
    }

    private static void Arrange(int[] order, int[] chosen)
    {
        chosen.CopyTo(order, 0);
        int into = chosen.Length;
        for (int i = 0, c = 0; i < order.Length; i++)
        {
            if (c < chosen.Length && chosen[c] == i)
                c++;
            else
                order[into++] = i;
        }
    }

    // The next choice in the order of a dictionary; false after the last.
    private static bool Next(int[] chosen, int of)
    {
        int i = chosen.Length - 1;
        while (i >= 0 && chosen[i] == of - chosen.Length + i)
            i--;
        if (i < 0)
            return false;
        chosen[i]++;
        for (int j = i + 1; j < chosen.Length; j++)
            chosen[j] = chosen[j - 1] + 1;
        return true;
    }

    private static double Choose(int n, int k)
    {
        double count = 1;
        for (int i = 1; i <= k; i++)
            count *= (n - k + i) / (double)i;
        return Math.Round(count);
    }
}
