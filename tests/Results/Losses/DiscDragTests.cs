using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Losses;

public sealed class DiscDragTests
{
    // T. von Kármán, ZAMM 1 (1921) 233; W. G. Cochran, Proc. Camb. Phil. Soc. 30 (1934) 365; digits worked again.
    [Fact]
    public void The_laminar_constant_is_that_of_the_similarity_solution()
    {
        (double f, double g) = (0.51, -0.62);
        foreach (double far in new[] { 8.0, 15.0, 30.0 })
            (f, g) = Shoot(f, g, far);
        double[] end = Follow(f, g, 30);
        Assert.Equal(0.5102326189, f, 1e-6);
        Assert.Equal(-0.6159220144, g, 1e-6);
        Assert.Equal(-0.8844741, end[4], 1e-6);
        Assert.Equal(DiscDrag.LaminarConstant, -2 * Math.PI * g, 1e-5);
    }

    // Schlichting, Boundary-Layer Theory (from memory); numbers worked again.
    [Theory]
    [InlineData(1e5, 0.0122380, DiscFlow.FreeLaminar)]
    [InlineData(1e6, 0.00921198, DiscFlow.FreeTurbulent)]
    public void In_free_air_the_moment_coefficient_is_the_published_one(double reynolds, double coefficient, DiscFlow flow)
    {
        DiscDrag disc = DiscDrag.Free(reynolds);
        Assert.Equal(coefficient, disc.MomentCoefficient, 5e-7);
        Assert.Equal(flow, disc.Flow);
    }

    // Daily and Nece, J. Basic Eng. 82 (1960) 217; numbers worked again.
    [Theory]
    [InlineData(1e3, 0.02, 0.314159, DiscFlow.MergedLaminar)]
    [InlineData(1e5, 0.1, 0.00929398, DiscFlow.ApartLaminar)]
    [InlineData(1e6, 0.01, 0.00545034, DiscFlow.MergedTurbulent)]
    [InlineData(1e6, 0.1, 0.00511211, DiscFlow.ApartTurbulent)]
    public void In_an_enclosure_the_regime_and_its_coefficient_are_the_published_ones(double reynolds, double gap, double coefficient, DiscFlow flow)
    {
        DiscDrag disc = DiscDrag.Enclosed(reynolds, gap);
        Assert.Equal(coefficient, disc.MomentCoefficient, 5e-7);
        Assert.Equal(flow, disc.Flow);
    }

    // The borders as Daily and Nece publish them (from memory).
    [Theory]
    [InlineData(1e4, DiscFlow.MergedLaminar, DiscFlow.ApartLaminar, 1.62, -5.0 / 11)]
    [InlineData(1e6, DiscFlow.MergedTurbulent, DiscFlow.ApartTurbulent, 0.402, -3.0 / 16)]
    public void The_regimes_meet_where_they_are_published_to(double reynolds, DiscFlow narrow, DiscFlow wide, double factor, double power)
    {
        double gap = factor * Math.Pow(reynolds, power);
        Assert.Equal(narrow, DiscDrag.Enclosed(reynolds, gap * 0.98).Flow);
        Assert.Equal(wide, DiscDrag.Enclosed(reynolds, gap * 1.02).Flow);
    }

    [Fact]
    public void Torque_is_the_coefficient_times_half_rho_omega_squared_R_to_the_fifth()
    {
        var disc = new DiscDrag(DiscFlow.FreeLaminar, 1e5, 0.01);
        Assert.Equal(0.01 * 0.5 * 1.2 * 1e4 * 1e-5, disc.TorqueNm(100, 0.1, 1.2), 1e-15);
    }

    // IEC 60034-2-2, IEEE 115; the machine is a textbook's (from memory), its numbers worked exactly.
    [Fact]
    public void The_retardation_method_gives_inertia_and_losses_of_the_worked_machine()
    {
        const double BrakedS = 9, FieldS = 15, BareS = 36, TerminalW = 219 * 10;
        double inertia = Retardation.InertiaKgM2(TerminalW, 1030, 970, FieldS, BrakedS);
        double bareW = Retardation.PowerW(inertia, 1000, 60 / BareS);
        double fieldW = Retardation.PowerW(inertia, 1000, 60 / FieldS);
        Assert.Equal(0.01096622711, Retardation.PowerW(1, 1, 1), 1e-11);
        Assert.Equal(74.88902, inertia, 1e-5);
        Assert.Equal(3285, fieldW, 1e-6);
        Assert.Equal(1368.75, bareW, 1e-6);
        Assert.Equal(1916.25, fieldW - bareW, 1e-6);
    }

    private static (double F, double G) Shoot(double f, double g, double far)
    {
        const double Step = 1e-8;
        for (int i = 0; i < 12; i++)
        {
            double[] at = Follow(f, g, far);
            double[] byF = Follow(f + Step, g, far);
            double[] byG = Follow(f, g + Step, far);
            (double a, double b) = ((byF[0] - at[0]) / Step, (byG[0] - at[0]) / Step);
            (double c, double d) = ((byF[2] - at[2]) / Step, (byG[2] - at[2]) / Step);
            double det = (a * d) - (b * c);
            (double df, double dg) = (((at[0] * d) - (b * at[2])) / det, ((a * at[2]) - (c * at[0])) / det);
            (f, g) = (f - df, g - dg);
            if (Math.Abs(df) + Math.Abs(dg) < 1e-14)
                break;
        }

        return (f, g);
    }

    // F, F', G, G', H from the wall out, by the classic Runge-Kutta method.
    private static double[] Follow(double f, double g, double far)
    {
        const int Steps = 6000;
        double h = far / Steps;
        double[] y = [0, f, 1, g, 0];
        for (int i = 0; i < Steps; i++)
        {
            double[] k1 = Slope(y);
            double[] k2 = Slope(Moved(y, k1, h / 2));
            double[] k3 = Slope(Moved(y, k2, h / 2));
            double[] k4 = Slope(Moved(y, k3, h));
            for (int k = 0; k < 5; k++)
                y[k] += h / 6 * (k1[k] + (2 * k2[k]) + (2 * k3[k]) + k4[k]);
        }

        return y;
    }

    private static double[] Slope(double[] y) =>
        [y[1], (y[0] * y[0]) - (y[2] * y[2]) + (y[1] * y[4]), y[3], (2 * y[0] * y[2]) + (y[3] * y[4]), -2 * y[0]];

    private static double[] Moved(double[] y, double[] slope, double by) => [.. y.Select((v, i) => v + (by * slope[i]))];
}
