using Acquire.Results.Bodies;
using CsCheck;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

public sealed class StackCheckTests
{
    private static RotorPart Part(string name, BodyShape shape, double bottomM, params PlacedShape[] bores) =>
        new(name, shape, bottomM, new PartStuff("", 1000, 0, double.NaN, 0.5), bores);

    [Fact]
    public void Cylinders_that_stand_in_each_other_share_what_is_between_them()
    {
        RotorPart low = Part("low", Profile.Cylinder(0.03, 0.02), 0);
        RotorPart high = Part("high", Profile.Cylinder(0.02, 0.02), 0.015);
        double shared = Assert.Single(StackCheck.Overlaps([low, high])).SharedM3;
        Assert.Equal(Math.PI * 0.02 * 0.02 * 0.005, shared, 1e-12);
    }

    [Fact]
    public void A_core_in_its_bore_shares_nothing_and_holds()
    {
        RotorPart disc = Part("disc", Profile.Cylinder(0.05, 0.02), 0, new PlacedShape("bore", Profile.Cylinder(0.01, 0.02), 0));
        RotorPart core = Part("core", Profile.Cylinder(0.01, 0.02), 0);
        Assert.Empty(StackCheck.Overlaps([disc, core]));
        Assert.Empty(StackCheck.Loose([disc, core]));
    }

    [Fact]
    public void A_disc_in_a_recess_stands_on_its_floor()
    {
        RotorPart disc = Part("disc", Profile.Cylinder(0.05, 0.02), 0, new PlacedShape("recess", Profile.Cylinder(0.04, 0.01), 0.01));
        RotorPart weight = Part("weight", Profile.Cylinder(0.02, 0.004), 0.01);
        Assert.Empty(StackCheck.Loose([disc, weight]));
        Assert.Empty(StackCheck.Overlaps([disc, weight]));
    }

    [Fact]
    public void A_ball_under_a_plate_touches_it_at_one_point()
    {
        Assert.Empty(StackCheck.Loose([Part("ball", new Sphere(0.003), 0), Part("plate", Profile.Cylinder(0.05, 0.01), 0.006)]));
        RotorPart loose = Assert.Single(StackCheck.Loose([Part("ball", new Sphere(0.003), 0), Part("plate", Profile.Cylinder(0.05, 0.01), 0.0061)]));
        Assert.Equal("ball", loose.Name);
    }

    [Fact]
    public void A_ring_that_is_wider_than_its_disc_floats()
    {
        RotorPart loose = Assert.Single(StackCheck.Loose([Part("disc", Profile.Cylinder(0.05, 0.02), 0), Part("ring", Profile.Ring(0.051, 0.052, 0.02), 0)]));
        Assert.Equal("ring", loose.Name);
    }

    [Fact]
    public void A_bore_that_reaches_out_of_its_part_is_told_by_how_much()
    {
        RotorPart disc = Part("disc", Profile.Cylinder(0.05, 0.02), 0);
        Assert.Equal(0, StackCheck.OutsideM3(disc, new PlacedShape("bore", new Torus(0.04, 0.005), 0.01)));
        double outside = StackCheck.OutsideM3(disc, new PlacedShape("bore", Profile.Cylinder(0.01, 0.02), 0.01));
        Assert.Equal(Math.PI * 1e-4 * 0.01, outside, 1e-12);
    }

    [Fact]
    public void What_spheres_share_is_the_lens_of_solid_geometry() => Gen.Select(Gen.Double[0.01, 0.05], Gen.Double[0.2, 1.8]).Sample((r, apart) =>
    {
        double d = r * apart;
        double lens = Math.PI * Math.Pow((2 * r) - d, 2) * ((d * d) + (4 * d * r)) / (12 * d);
        double shared = Assert.Single(StackCheck.Overlaps([Part("a", new Sphere(r), 0), Part("b", new Sphere(r), d)])).SharedM3;
        Assert.Equal(1, shared / lens, 2e-3);
    });
}
