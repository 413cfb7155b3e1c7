using Acquire.Results.Bodies;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

public sealed class RotorTests
{
    private static RotorPart Part(string name, BodyShape shape, double bottomM, PartStuff stuff) => new(name, shape, bottomM, stuff, []);

    private static PartStuff Stuff(double density, double u = 0, string name = "") => new(name, density, u, double.NaN, 0.3);

    // Kibble and Berkshire, Classical Mechanics, equation 12.26, from memory; numbers worked again: m 0.1 kg, r 0.03 m, centre at 0.02 m.
    [Fact]
    public void A_thin_disc_sleeps_down_to_470_turns_a_minute()
    {
        const double Thin = 1e-7;
        double density = 0.1 / (Math.PI * 0.03 * 0.03 * Thin);
        Rotor rotor = Rotor.Of("disc", [Part("disc", Profile.Cylinder(0.03, Thin), 0.02 - (Thin / 2), Stuff(density))]);
        Assert.Equal(4.5e-5, rotor.InertiaAxisKgM2, 1e-11);
        Assert.Equal(6.25e-5, rotor.InertiaTipKgM2, 1e-11);
        Assert.Equal(1, rotor.ToppleRpm / 469.8987, 1e-6);
        Assert.Equal(0.02, rotor.CentreHeightM, 1e-9);
    }

    [Fact]
    public void What_hangs_below_its_tip_does_not_topple()
    {
        Rotor rotor = Rotor.Of("", [Part("bell", Profile.Cylinder(0.03, 0.01), -0.02, Stuff(8500))]);
        Assert.Equal(0, rotor.ToppleRpm);
        Assert.Equal(-0.015, rotor.CentreHeightM, 1e-12);
    }

    [Fact]
    public void A_stack_is_the_sum_of_its_parts_about_the_tip()
    {
        Rotor rotor = Rotor.Of("top",
        [
            Part("stem", Profile.Cylinder(0.002, 0.05), 0, Stuff(7850)),
            Part("rim", Profile.Ring(0.04, 0.05, 0.02), 0.01, Stuff(8500)),
        ]);
        double stem = 7850 * Math.PI * 0.002 * 0.002 * 0.05;
        double rim = 8500 * Math.PI * ((0.05 * 0.05) - (0.04 * 0.04)) * 0.02;
        Assert.Equal(stem + rim, rotor.MassKg, 1e-9);
        Assert.Equal((0.5 * stem * 4e-6) + (0.5 * rim * (0.0016 + 0.0025)), rotor.InertiaAxisKgM2, 1e-12);
        Assert.Equal(((stem * 0.025) + (rim * 0.02)) / (stem + rim), rotor.CentreHeightM, 1e-12);
        double stemTip = stem * ((((3 * 4e-6) + 0.0025) / 12) + (0.025 * 0.025));
        double rimTip = rim * ((((3 * 0.0041) + 0.0004) / 12) + (0.02 * 0.02));
        Assert.Equal(stemTip + rimTip, rotor.InertiaTipKgM2, 1e-12);
        Assert.Equal(0.05, rotor.OuterRadiusM);
        Assert.Equal(0.05 * 3000 * Math.PI / 30, rotor.RimSpeedMS(3000), 1e-12);
    }

    // JCGM 100:2008, 5.2.2: what is off alike adds up, what is not adds by squares.
    [Fact]
    public void One_materials_density_is_off_alike_in_all_its_parts()
    {
        BodyShape disc = Profile.Cylinder(0.05, 0.02);
        double volume = disc.Moments.Amount;
        Rotor alike = Rotor.Of("", [Part("a", disc, 0, Stuff(8500, 100, "brass")), Part("b", disc, 0.02, Stuff(8500, 100, "brass"))]);
        Rotor apart = Rotor.Of("", [Part("a", disc, 0, Stuff(8500, 100, "brass")), Part("b", disc, 0.02, Stuff(8500, 100, "bronze"))]);
        Assert.Equal(2 * 100 * volume, alike.UMassKg, 1e-12);
        Assert.Equal(Math.Sqrt(2) * 100 * volume, apart.UMassKg, 1e-12);
        Assert.Equal(Math.Sqrt(2) * 100 * disc.Moments.Radial, apart.UInertiaAxisKgM2, 1e-15);
    }
}
