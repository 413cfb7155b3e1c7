using Acquire.Results.Bodies;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

/// <summary>Timoshenko and Goodier, Theory of Elasticity, section 32; Roark's Formulas for Stress and Strain: formulas from memory.</summary>
public sealed class PartStressTests
{
    private static readonly PartStuff Steel = new("steel", 7850, 0, 200e6, 0.3);

    private static double Full(double rpm, double radiusM) => 7850 * Math.Pow(radiusM * rpm * Math.PI / 30, 2);

    [Fact]
    public void A_thin_ring_is_under_rho_v_squared()
    {
        var ring = new RotorPart("ring", Profile.Ring(0.04999, 0.05, 0.01), 0, Steel, []);
        Assert.Equal(1, PartStress.Of(ring, 6000).StressPa / Full(6000, 0.05), 1e-3);
    }

    [Fact]
    public void A_solid_disc_is_under_3_plus_nu_over_8()
    {
        var disc = new RotorPart("disc", Profile.Cylinder(0.05, 0.01), 0, Steel, []);
        PartStress found = PartStress.Of(disc, 3000);
        Assert.Equal(3.3 / 8, found.StressPa / Full(3000, 0.05), 1e-9);
        Assert.Equal(found.StressPa / 200e6, found.ShareOfStrength, 1e-12);
        Assert.Equal(StressKind.Solid, found.Kind);
    }

    [Fact]
    public void A_pinhole_doubles_the_stress_of_a_disc()
    {
        var pinhole = new RotorPart("disc", Profile.Cylinder(0.05, 0.01), 0, Steel, [new PlacedShape("hole", Profile.Cylinder(1e-6, 0.01), 0)]);
        Assert.Equal(3.3 / 4, PartStress.Of(pinhole, 3000).StressPa / Full(3000, 0.05), 1e-6);
    }

    [Fact]
    public void A_bore_and_a_ring_of_the_same_size_are_under_the_same_stress()
    {
        var bored = new RotorPart("disc", Profile.Cylinder(0.05, 0.01), 0, Steel, [new PlacedShape("hole", Profile.Cylinder(0.03, 0.01), 0)]);
        var ring = new RotorPart("disc", Profile.Ring(0.03, 0.05, 0.01), 0, Steel, []);
        Assert.Equal(PartStress.Of(ring, 5000).StressPa, PartStress.Of(bored, 5000).StressPa, 1e-3);
    }

    [Fact]
    public void A_recess_counts_as_a_heavy_rim_on_a_thin_web()
    {
        var recessed = new RotorPart("wheel", Profile.Cylinder(0.05, 0.01), 0, Steel, [new PlacedShape("recess", Profile.Cylinder(0.04, 0.008), 0.002)]);
        PartStress found = PartStress.Of(recessed, 3000);
        Assert.Equal(StressKind.Web, found.Kind);
        Assert.Equal(1 / 0.7, found.StressPa / Full(3000, 0.05), 1e-9);
    }

    [Fact]
    public void The_rim_is_the_part_that_reaches_outermost()
    {
        var core = new RotorPart("core", Profile.Cylinder(0.04, 0.01), 0, new PartStuff("lead", 11340, 0, 5e6, 0.44), []);
        var rim = new RotorPart("rim", Profile.Ring(0.04, 0.05, 0.01), 0, Steel, []);
        IReadOnlyList<PartStress> all = PartStress.OfAll(Rotor.Of("", [core, rim]), 3000);
        Assert.Equal(["rim", "core"], all.Select(s => s.Part.Name));
    }
}
