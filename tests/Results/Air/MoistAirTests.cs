using Acquire.Results.Air;
using CsCheck;
using Xunit;

namespace Acquire.Results.Tests.Air;

public sealed class MoistAirTests
{
    // CIPM-2007, Picard et al., Metrologia 45 (2008) 149; numbers worked again from the equation.
    [Theory]
    [InlineData(20, 101325, 0.5, 2339.1632, 0.99961477, 1.1993139)]
    [InlineData(20, 101325, 0, 2339.1632, 0.99964314, 1.2045573)]
    [InlineData(22, 100000, 0.5, 2645.1797, 0.99963432, 1.1748329)]
    [InlineData(23, 101325, 0.5, 2810.9046, 0.99963726, 1.1860841)]
    [InlineData(20, 75000, 0.5, 2339.1632, 0.99970463, 0.8862766)]
    public void Density_is_that_of_CIPM_2007(double t, double p, double h, double saturation, double z, double density)
    {
        MoistAir air = MoistAir.Of(t, p, h)!;
        Assert.Equal(1, MoistAir.SaturationPa(t) / saturation, 1e-6);
        Assert.Equal(z, air.Compressibility, 1e-8);
        Assert.Equal(density, air.DensityKgM3, 1e-6);
        Assert.True(air.IsWithinEquation);
    }

    // OIML R 111-1, simplified equation (from memory), good to 2 parts in 10 000 of the full one in its range.
    [Fact]
    public void Density_agrees_with_the_simplified_equation_of_weighing() => Gen.Select(
        Gen.Double[15, 27], Gen.Double[900, 1100], Gen.Double[20, 80]).Sample((t, hPa, percent) =>
    {
        double simple = ((0.34848 * hPa) - (0.009 * percent * Math.Exp(0.061 * t))) / (273.15 + t);
        Assert.Equal(1, MoistAir.Of(t, hPa * 100, percent / 100)!.DensityKgM3 / simple, 4e-4);
    });

    [Fact]
    public void At_20_degrees_the_simplified_equation_of_weighing_gives_1_199294()
    {
        double simple = ((0.34848 * 1013.25) - (0.009 * 50 * Math.Exp(0.061 * 20))) / 293.15;
        Assert.Equal(1.199294, simple, 1e-6);
        Assert.Equal(1, MoistAir.Of(20, 101325, 0.5)!.DensityKgM3 / simple, 2e-4);
    }

    // US Standard Atmosphere 1976, equation 51, numbers worked again; ISO 2533:1975 gives 1.7894e-5 at 288.15 K.
    [Theory]
    [InlineData(15, 1.789380e-5)]
    [InlineData(20, 1.813406e-5)]
    [InlineData(26.85, 1.846002e-5)]
    public void Viscosity_is_that_of_the_standard_atmosphere(double t, double viscosity) =>
        Assert.Equal(1, MoistAir.Viscosity(t) / viscosity, 1e-6);

    [Fact]
    public void Viscosity_at_sea_level_is_that_of_ISO_2533()
    {
        Assert.Equal(1, MoistAir.Viscosity(15) / 1.7894e-5, 5e-5);
        MoistAir air = MoistAir.Of(15, 101325, 0)!;
        Assert.Equal(1, air.DensityKgM3 / 1.225, 1e-3);
        Assert.Equal(1, air.KinematicViscosityM2S / 1.4607e-5, 1e-3);
    }

    [Fact]
    public void No_air_holds_more_vapour_than_its_pressure()
    {
        Assert.Null(MoistAir.Of(90, 60_000, 1));
        Assert.NotNull(MoistAir.Of(90, 60_000, 0.5));
        Assert.False(MoistAir.Of(90, 60_000, 0.5)!.IsWithinEquation);
    }

    // An even spread between limits ±a has the standard deviation a/√3: draws from the spreads against the stated uncertainty.
    [Fact]
    public void Uncertainty_is_that_of_draws_between_the_limits()
    {
        var random = new Random(5);
        MoistAir air = MoistAir.Of(21, 99_000, 0.45)!;
        (double uDensity, double uViscosity) = air.Uncertainty(0.5, 100, 0.05);
        var density = new List<double>();
        var viscosity = new List<double>();
        for (int i = 0; i < 40_000; i++)
        {
            MoistAir drawn = MoistAir.Of(21 + Even(0.5), 99_000 + Even(100), 0.45 + Even(0.05))!;
            density.Add(drawn.DensityKgM3);
            viscosity.Add(drawn.ViscosityPaS);
        }

        Assert.Equal(1, uDensity / Deviation(density), 0.02);
        Assert.Equal(1, uViscosity / Deviation(viscosity), 0.02);

        double Even(double limit) => limit * ((2 * random.NextDouble()) - 1);
        static double Deviation(List<double> all) => Math.Sqrt(all.Sum(x => Math.Pow(x - all.Average(), 2)) / all.Count);
    }
}
