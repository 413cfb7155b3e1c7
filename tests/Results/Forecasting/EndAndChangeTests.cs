using Acquire.Results.Forecasting;
using MathNet.Numerics.Distributions;
using Xunit;

namespace Acquire.Results.Tests.Forecasting;

public sealed class EndAndChangeTests
{
    [Fact]
    public void The_next_of_three_is_as_students_t_says()
    {
        // Mean 2, standard deviation 1, the next one: 1·√(1 + 1/3) with two degrees of freedom (any textbook).
        NextOne next = NextOne.Of([1, 2, 3], 0.5);
        Assert.Equal((2, Math.Sqrt(4.0 / 3), 2, 3), (next.Mean, next.Scale, next.Freedom, next.Count));
        NextOne one = NextOne.Of([7], 0.5);
        Assert.Equal((7, 0.5 * Math.Sqrt(2), 4), (one.Mean, one.Scale, one.Freedom));
    }

    [Fact]
    public void One_wild_value_of_many_is_left_out() =>
        Assert.Equal(9, NextOne.Of([250, 251, 249, 252, 248, 250.5, 249.5, 251.5, 900], 1).Count + 1);

    [Fact]
    public void The_interval_holds_the_next_end_as_often_as_it_says()
    {
        // Log-normal ends of 4 %, five earlier: the 95 % interval of the sixth, over 4000 draws with a fixed seed.
        var random = new Random(9);
        double Draw() => 250 * Math.Exp(0.04 * Normal.Sample(random, 0, 1));
        int held = 0;
        for (int i = 0; i < 4000; i++)
        {
            EndSpeed end = EndSpeed.OfRuns([Draw(), Draw(), Draw(), Draw(), Draw()]);
            double next = Draw();
            held += next >= end.Below(0.025, 1e6) && next <= end.Below(0.975, 1e6) ? 1 : 0;
        }

        Assert.InRange(held / 4000.0, 0.94, 0.96);
    }

    [Fact]
    public void A_body_that_still_stands_has_not_ended_yet()
    {
        EndSpeed end = new(300, 0.1, double.PositiveInfinity, EndBasis.Rotor);
        Assert.Equal(300, end.Below(0.5, 1e6), 1e-6);
        Assert.InRange(end.Below(0.999, 280), 275, 280);
        Assert.Equal(Math.Exp(Math.Log(300) + (0.1 * Normal.InvCDF(0, 1, 0.5 * Normal.CDF(0, 1, Math.Log(280.0 / 300) / 0.1)))), end.Below(0.5, 280), 1e-9);
    }

    [Fact]
    public void Another_body_changes_each_loss_by_its_own_power()
    {
        SpinChange change = SpinChange.None with { InertiaTimes = 3, MassTimes = 2, RadiusTimes = 1.1 };
        Assert.Equal(Math.Pow(2, 4.0 / 3) / 3, change.Factor(0), 1e-12);
        Assert.Equal(1.0 / 3, change.Factor(1), 1e-12);
        Assert.Equal(Math.Pow(1.1, 4) / 3, change.Factor(1.5), 1e-12);
        Assert.Equal(Math.Pow(1.1, 4.6) / 3, change.Factor(1.8), 1e-12);
        Assert.Equal(Math.Pow(1.1, 5) / 3, change.Factor(2), 1e-12);
        Assert.Equal(2.0 / 3, (change with { TipPower = 1 }).Factor(0), 1e-12);
        Assert.Equal(Math.Sqrt(2.0 / 3), change.EndTimes, 1e-12);
        Assert.True(SpinChange.None.IsNone && !change.IsNone);
    }

    [Fact]
    public void Points_fill_a_square_evenly()
    {
        var points = new EvenPoints(2);
        int[] counts = new int[25];
        double[] point = new double[2];
        for (int i = 0; i < 2500; i++)
        {
            points.Next(point);
            counts[((int)(5 * point[0]) * 5) + (int)(5 * point[1])]++;
        }

        Assert.All(counts, n => Assert.InRange(n, 95, 105));
    }
}
