using Acquire.Results.Bodies;
using CsCheck;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

/// <summary>Uniform bodies of revolution: textbook formulas (any mechanics text), numbers worked again from them.</summary>
public sealed class BodyShapeTests
{
    private static RotorPart Part(BodyShape shape, double density, double bottomM = 0) =>
        new("part", shape, bottomM, new PartStuff("", density, 0, double.NaN, 0.5), []);

    private static BodyMoments OfMass(BodyShape shape, double massKg) => (massKg / shape.Moments.Amount) * shape.Moments;

    private static double AcrossCentre(BodyMoments m) => m.Raised(-m.CentreM).Across;

    private static void Close(double expected, double actual, double relative = 1e-6) => Assert.Equal(1, actual / expected, relative);

    [Fact]
    public void A_cylinder_has_half_m_r_squared_and_m_3r2_plus_h2_over_12_across()
    {
        BodyMoments m = OfMass(Profile.Cylinder(0.05, 0.02), 2);
        Close(2.5e-3, m.Radial);
        Close(1.316667e-3, AcrossCentre(m));
        Close(0.01, m.CentreM);
    }

    [Fact]
    public void A_ring_has_half_m_times_both_squares_and_its_own_across()
    {
        BodyMoments m = OfMass(Profile.Ring(0.03, 0.05, 0.02), 1.5);
        Close(2.55e-3, m.Radial);
        Close(1.325e-3, AcrossCentre(m));
    }

    [Fact]
    public void A_cone_frustum_has_three_tenths_m_of_fifth_powers_over_thirds()
    {
        BodyMoments m = Part(Profile.Frustum(0.04, 0.02, 0.03), 7850).Mass;
        Close(0.6905221, m.Amount);
        Close(3.669632e-4, m.Radial);
    }

    [Fact]
    public void A_torus_has_m_times_R2_plus_three_quarters_a2()
    {
        BodyMoments m = Part(new Torus(0.03, 0.005), 7850).Mass;
        Close(0.1162146, m.Amount);
        Close(1.067722e-4, m.Radial);
    }

    [Fact]
    public void A_sphere_has_two_fifths_m_r_squared_about_every_line_through_its_middle()
    {
        BodyMoments m = OfMass(new Sphere(0.03), 1);
        Close(3.6e-4, m.Radial);
        Close(3.6e-4, AcrossCentre(m));
        Close(0.03, m.CentreM);
    }

    [Fact]
    public void A_cone_has_three_tenths_m_r_squared_and_its_centre_at_a_quarter_of_its_height()
    {
        BodyMoments m = OfMass(Profile.Frustum(0.03, 0, 0.05), 1);
        Close(2.7e-4, m.Radial);
        Close(2.2875e-4, AcrossCentre(m));
        Close(0.0125, m.CentreM);
    }

    [Fact]
    public void The_parallel_axis_theorem_adds_m_times_the_distance_squared() => Gen.Select(
        Gen.Double[0.001, 0.2], Gen.Double[0.001, 0.2], Gen.Double[-1, 1], Gen.Double[500, 20_000])
        .Sample((r, h, up, density) =>
        {
            BodyMoments low = Part(Profile.Frustum(r, r / 2, h), density).Mass;
            BodyMoments high = Part(Profile.Frustum(r, r / 2, h), density, up).Mass;
            double centre = AcrossCentre(low);
            Assert.Equal(low.Radial, high.Radial, low.Radial * 1e-12);
            Assert.Equal(centre + (high.Amount * high.CentreM * high.CentreM), high.Across, high.Across * 1e-9);
        });

    [Fact]
    public void A_frustum_cut_anywhere_into_a_profile_is_the_same_body() => Gen.Select(
        Gen.Double[0.01, 0.1], Gen.Double[0.01, 0.1], Gen.Double[0.01, 0.1], Gen.Double[0, 1].List[1, 6])
        .Sample((r0, r1, h, cuts) =>
        {
            ProfilePoint[] points = [.. cuts.Concat([0.0, 1.0]).Order().Select(t => new ProfilePoint(r0 + (t * (r1 - r0)), t * h))];
            BodyMoments whole = Profile.Frustum(r0, r1, h).Moments;
            BodyMoments cut = new Profile(points, 0).Moments;
            Assert.Equal(whole.Amount, cut.Amount, whole.Amount * 1e-12);
            Assert.Equal(whole.First, cut.First, whole.First * 1e-12);
            Assert.Equal(whole.Second, cut.Second, whole.Second * 1e-12);
            Assert.Equal(whole.Radial, cut.Radial, whole.Radial * 1e-12);
        });

    [Fact]
    public void A_profile_of_many_straight_pieces_comes_to_a_sphere_by_the_square_of_their_number()
    {
        BodyMoments sphere = new Sphere(0.05).Moments;
        double coarse = Error(100);
        double fine = Error(200);
        Assert.InRange(coarse / fine, 3.9, 4.1);
        Assert.InRange(fine, 0, 2e-4);

        double Error(int pieces)
        {
            ProfilePoint[] points = [.. Enumerable.Range(0, pieces + 1).Select(i => Math.PI * i / pieces)
                .Select(a => new ProfilePoint(0.05 * Math.Sin(a), 0.05 * (1 - Math.Cos(a))))];
            return Math.Abs((new Profile(points, 0).Moments.Radial / sphere.Radial) - 1);
        }
    }

    [Fact]
    public void A_step_in_a_profile_is_two_cylinders()
    {
        var step = new Profile([new(0.02, 0), new(0.02, 0.01), new(0.05, 0.01), new(0.05, 0.03)], 0);
        BodyMoments two = Profile.Cylinder(0.02, 0.01).Moments + Profile.Cylinder(0.05, 0.02).Moments.Raised(0.01);
        Close(two.Amount, step.Moments.Amount, 1e-12);
        Close(two.Second, step.Moments.Second, 1e-12);
        Close(two.Radial, step.Moments.Radial, 1e-12);
    }

    [Fact]
    public void A_bore_leaves_a_ring()
    {
        RotorPart bored = Part(Profile.Cylinder(0.05, 0.02), 8500, 0.01) with
        {
            Bores = [new PlacedShape("bore", Profile.Cylinder(0.03, 0.02), 0.01)],
        };
        BodyMoments ring = Part(Profile.Ring(0.03, 0.05, 0.02), 8500, 0.01).Mass;
        Close(ring.Amount, bored.Mass.Amount, 1e-12);
        Close(ring.Radial, bored.Mass.Radial, 1e-12);
        Close(ring.Across, bored.Mass.Across, 1e-12);
    }
}
