namespace Acquire.Motion;

/// <summary>What a standard error that was itself found from few residuals is stretched by, so that ±1.96 of it is a 95 % interval.</summary>
public static class StudentT
{
    // 97.5 % quantiles of Student's t for 1 to 10 degrees of freedom over that of the normal (any table of the distribution).
    private static readonly double[] Few = [12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281];
    private const double Normal = 1.959964;

    /// <summary>97.5 % quantile over that of the normal, 1 or more. Beyond ten degrees of freedom by the expansion in their inverse (Abramowitz and
    /// Stegun 26.7.5), good to 0.1 %.</summary>
    /// <param name="degreesOfFreedom">Residuals less fitted terms, 1 or more.</param>
    public static double Stretch(int degreesOfFreedom)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(degreesOfFreedom, 1);
        if (degreesOfFreedom <= Few.Length)
            return Few[degreesOfFreedom - 1] / Normal;
        double v = degreesOfFreedom;
        const double Z2 = Normal * Normal;
        return 1 + ((Z2 + 1) / (4 * v)) + ((((5 * Z2) + 16) * Z2 + 3) / (96 * v * v))
            + (((((3 * Z2) + 19) * Z2 + 17) * Z2 - 15) / (384 * v * v * v));
    }
}
