namespace Acquire.Acquisition.Clock;

/// <summary>The few statistics that a clock fit needs.</summary>
internal static class ClockStatistics
{
    internal const double Normal975 = 1.959963984540054;

    /// <summary>The middle value; sorts what it is given. NaN for nothing.</summary>
    internal static double Median(List<double> values)
    {
        if (values.Count == 0)
            return double.NaN;
        values.Sort();
        int middle = values.Count / 2;
        return values.Count % 2 == 1 ? values[middle] : (values[middle - 1] + values[middle]) / 2;
    }

    /// <summary>97.5 % quantile of Student's t over that of the normal: what a standard error from few samples is stretched by.
    /// Expansion in 1/degrees of freedom (Abramowitz and Stegun 26.7.5), good to 1 % from 3 up.</summary>
    internal static double Stretch(int degreesOfFreedom)
    {
        if (degreesOfFreedom < 3)
            return double.PositiveInfinity;
        const double Z = Normal975;
        double v = degreesOfFreedom;
        double z2 = Z * Z;
        double t = 1 + ((z2 + 1) / (4 * v))
            + ((((5 * z2) + 16) * z2 + 3) / (96 * v * v))
            + (((((3 * z2) + 19) * z2 + 17) * z2 - 15) / (384 * v * v * v));
        return t;
    }

    /// <summary>Whether signs about the median change less often than chance allows, one-sided at 5 % (Wald and Wolfowitz 1940).</summary>
    internal static bool HasTooFewRuns(ReadOnlySpan<double> residuals, ReadOnlySpan<double> weights, double median)
    {
        int above = 0;
        int below = 0;
        int runs = 0;
        int last = 0;
        for (int i = 0; i < residuals.Length; i++)
        {
            int sign = Math.Sign(residuals[i] - median);
            if (sign == 0 || weights[i] == 0)
                continue;
            if (sign > 0)
                above++;
            else
                below++;
            if (sign != last)
                runs++;
            last = sign;
        }

        double n = above + below;
        if (above < 5 || below < 5)
            return false;
        double product = 2.0 * above * below;
        double mean = (product / n) + 1;
        double variance = product * (product - n) / (n * n * (n - 1));
        return (runs - mean) / Math.Sqrt(variance) < -1.6449;
    }
}
