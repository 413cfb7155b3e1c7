namespace Acquire.Acquisition.Clock;

/// <summary>How steady a clock is over an averaging time: Allan deviations of evenly spaced frequencies. Tells jitter from drift where a
/// board's clock is compared with the host's.</summary>
/// <remarks>W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065 (2008), sections 5.2.1, 5.2.4 and 5.2.5;
/// worked with phases, the running sums of the frequencies.</remarks>
public static class AllanDeviation
{
    /// <summary>Deviation of means over <paramref name="points"/> values that do not overlap.</summary>
    /// <param name="frequencies">Relative frequencies, evenly spaced, none missing.</param>
    /// <param name="points">Values in a mean: averaging time over spacing, 1 or more.</param>
    /// <returns>The deviation, in the unit of the frequencies.</returns>
    /// <exception cref="ArgumentOutOfRangeException">Fewer than two means, or no points.</exception>
    public static double Plain(ReadOnlySpan<double> frequencies, int points)
    {
        Check(frequencies.Length, points, 2 * points);
        double[] phase = Phase(frequencies);
        double sum = 0;
        int count = 0;
        for (int i = 0; i + (2 * points) < phase.Length; i += points)
        {
            double bend = phase[i + (2 * points)] - (2 * phase[i + points]) + phase[i];
            sum += bend * bend;
            count++;
        }

        return Math.Sqrt(sum / (2.0 * count)) / points;
    }

    /// <summary>Deviation of means that overlap: of all starts, and so surer.</summary>
    /// <inheritdoc cref="Plain"/>
    public static double Overlapping(ReadOnlySpan<double> frequencies, int points)
    {
        Check(frequencies.Length, points, 2 * points);
        double[] phase = Phase(frequencies);
        double sum = 0;
        int count = phase.Length - (2 * points);
        for (int i = 0; i < count; i++)
        {
            double bend = phase[i + (2 * points)] - (2 * phase[i + points]) + phase[i];
            sum += bend * bend;
        }

        return Math.Sqrt(sum / (2.0 * count)) / points;
    }

    /// <summary>Modified deviation: of means of phases too, which tells white from flicker noise of the phase.</summary>
    /// <inheritdoc cref="Plain"/>
    public static double Modified(ReadOnlySpan<double> frequencies, int points)
    {
        Check(frequencies.Length, points, (3 * points) - 1);
        double[] phase = Phase(frequencies);
        double window = 0;
        for (int i = 0; i < points; i++)
            window += phase[i + (2 * points)] - (2 * phase[i + points]) + phase[i];
        double sum = window * window;
        int count = phase.Length - (3 * points) + 1;
        for (int i = 0; i + 1 < count; i++)
        {
            window += phase[i + (3 * points)] - (3 * phase[i + (2 * points)]) + (3 * phase[i + points]) - phase[i];
            sum += window * window;
        }

        return Math.Sqrt(sum / (2.0 * count)) / ((double)points * points);
    }

    private static void Check(int values, int points, int needed)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(points, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(values, needed);
    }

    // The mean is taken out first: it bends nothing, and the sums stay small.
    private static double[] Phase(ReadOnlySpan<double> frequencies)
    {
        double mean = 0;
        foreach (double frequency in frequencies)
            mean += frequency / frequencies.Length;
        double[] phase = new double[frequencies.Length + 1];
        for (int i = 0; i < frequencies.Length; i++)
            phase[i + 1] = phase[i] + (frequencies[i] - mean);
        return phase;
    }
}
