using Acquire.Acquisition.Simulation;
using Xunit;

namespace Acquire.Acquisition.Tests.Simulation;

/// <summary>The motion against closed solutions of dω/dt = −Σ a (ω/ω_ref)^p, worked by hand (separation of variables).</summary>
public sealed class RotorMotionTests
{
    private const double Turn = 2 * Math.PI;

    // p = 0: ω = ω0 − a t, angle = ω0 t − a t²/2.
    [Fact]
    public void Dry_contact_slows_evenly()
    {
        double w0 = RadPerS(1800);
        RotorMotion motion = Free(new LossTerm(0, 0.05));

        Assert.Equal((w0 - RadPerS(300)) / 0.05, motion.Spins[0].SpinTimeS, 1e-8);
        Check(motion, t => w0 - (0.05 * t), t => (w0 * t) - (0.05 * t * t / 2));
    }

    // p = 1: ω = ω0 exp(−k t), k = a/ω_ref, angle = ω0 (1 − exp(−k t))/k.
    [Fact]
    public void Viscous_loss_decays_exponentially()
    {
        double w0 = RadPerS(1800);
        double k = 0.08 / RadPerS(1000);
        RotorMotion motion = Free(new LossTerm(1, 0.08));

        Assert.Equal(Math.Log(1800.0 / 300) / k, motion.Spins[0].SpinTimeS, 1e-8);
        Check(motion, t => w0 * Math.Exp(-k * t), t => w0 * (1 - Math.Exp(-k * t)) / k);
    }

    // p = 1.5: ω^(−1/2) = ω0^(−1/2) + c t/2, c = a/ω_ref^1.5.
    [Fact]
    public void Laminar_drag_follows_its_power()
    {
        double w0 = RadPerS(1800);
        double c = 0.08 / Math.Pow(RadPerS(1000), 1.5);
        RotorMotion motion = Free(new LossTerm(1.5, 0.08));

        Check(motion, Speed, t => 2 / c * (Math.Sqrt(w0) - Math.Sqrt(Speed(t))));

        double Speed(double t) => Math.Pow((1 / Math.Sqrt(w0)) + (c * t / 2), -2);
    }

    // p = 2: ω = ω0/(1 + k t), k = a ω0/ω_ref², angle = ω0/k ln(1 + k t).
    [Fact]
    public void Pressure_drag_is_a_hyperbola()
    {
        double w0 = RadPerS(1800);
        double k = 0.08 * w0 / (RadPerS(1000) * RadPerS(1000));
        RotorMotion motion = Free(new LossTerm(2, 0.08));

        Check(motion, t => w0 / (1 + (k * t)), t => w0 / k * Math.Log(1 + (k * t)));
    }

    // p = 0 and 2: ω = W tan(atan(ω0/W) − q t), W = ω_ref √(a0/a2), q = √(a0 a2)/ω_ref;
    // angle = (W/q) ln(cos(φ0 − q t)/cos φ0).
    [Fact]
    public void Dry_contact_and_pressure_drag_together_are_a_tangent()
    {
        double w0 = RadPerS(1800);
        double w = RadPerS(1000) * Math.Sqrt(0.03 / 0.06);
        double q = Math.Sqrt(0.03 * 0.06) / RadPerS(1000);
        double phase = Math.Atan(w0 / w);
        RotorMotion motion = Free(new LossTerm(0, 0.03), new LossTerm(2, 0.06));

        Check(motion, t => w * Math.Tan(phase - (q * t)), t => w / q * Math.Log(Math.Cos(phase - (q * t)) / Math.Cos(phase)));
    }

    [Fact]
    public void A_wheel_without_a_fall_runs_down_to_rest()
    {
        SpinTruth truth = Spin([new LossTerm(0, 0.5)], topple: 0).Spins[0];

        Assert.Equal(RadPerS(1800) / 0.5, truth.SpinTimeS, 1e-8);
        Assert.Equal(truth.ToppleS, truth.StopS);
    }

    [Fact]
    public void Turns_and_times_are_each_others_inverse_to_a_nanosecond()
    {
        RotorMotion motion = Free(new LossTerm(0, 0.02), new LossTerm(1.5, 0.03), new LossTerm(1.8, 0.02));
        SpinTruth truth = motion.Spins[0];
        for (double turns = 0.25; turns < truth.Turns; turns += truth.Turns / 997)
        {
            double timeS = motion.TimeAtTurns(turns);
            double speedRevPerS = motion.SpeedRpm(timeS) / 60;
            Assert.InRange((motion.Turns(timeS) - turns) / speedRevPerS, -1e-9, 1e-9);
        }
    }

    // The raised cosine's area: a push from rest to n turns/s in T turns the body n·T/2.
    [Fact]
    public void One_flick_peaks_at_the_release()
    {
        RotorMotion motion = Free(new LossTerm(1, 0.05));
        SpinTruth truth = motion.Spins[0];

        Assert.Equal(30 * 0.5 / 2, truth.LaunchTurns, 1e-9);
        Assert.Equal(1800, motion.SpeedRpm(truth.ReleaseS), 1e-6);
        for (double timeS = 0; timeS < 60; timeS += 0.01)
            Assert.True(motion.SpeedRpm(timeS) <= 1800 + 1e-6);
    }

    [Fact]
    public void Several_pushes_slow_between_and_reach_their_speeds()
    {
        var plan = new SpinPlan { Pushes = [new(900, 0.4, 0.5), new(1500, 0.3, 0.8), new(2100, 0.5)] };
        RotorMotion motion = new SimulatedSpin(new SpinScenario { Spins = [plan] }).Motion;

        Assert.Equal(5 + 0.4 + 0.5 + 0.3 + 0.8 + 0.5, motion.Spins[0].ReleaseS, 1e-9);
        Assert.Equal(900, motion.SpeedRpm(5.4), 1e-6);
        Assert.True(motion.SpeedRpm(5.9) < 900);
        Assert.Equal(1500, motion.SpeedRpm(6.2), 1e-6);
        Assert.Equal(MotionKind.Free, motion.KindAt(6.5));
    }

    [Fact]
    public void A_plan_lasts_as_long_as_it_is_told()
    {
        SpinTruth truth = new SimulatedSpin(new SpinScenario { Spins = [new SpinPlan().Lasting(4500)] }).Spins[0];

        Assert.Equal(4500, truth.SpinTimeS, 1e-6);
        Assert.Equal(truth.ToppleS, truth.TimeAtSpeedS(truth.Plan.ToppleRpm), 1e-6);
        Assert.True(double.IsNaN(truth.TimeAtSpeedS(100)));
        Assert.Equal(4500, truth.DecayTimeS(1850, 1000) + truth.DecayTimeS(1000, 250), 1e-6);
    }

    [Fact]
    public void A_loss_that_never_brings_the_body_down_is_refused() =>
        Assert.Throws<ArgumentException>(() => Spin([new LossTerm(1, 0.1)], topple: 0));

    private static void Check(RotorMotion motion, Func<double, double> speed, Func<double, double> angle)
    {
        SpinTruth truth = motion.Spins[0];
        double start = motion.Turns(truth.ReleaseS);
        for (int i = 0; i <= 200; i++)
        {
            double t = truth.SpinTimeS * i / 200;
            double wanted = speed(t);
            double turned = (motion.Turns(truth.ReleaseS + t) - start) * Turn;
            Assert.InRange((turned - angle(t)) / wanted, -1e-9, 1e-9); // as an error in time, s
            Assert.Equal(wanted, RadPerS(motion.SpeedRpm(truth.ReleaseS + t)), 1e-8);
        }

        double half = motion.Spins[0].TimeAtSpeedS(900) - truth.ReleaseS;
        Assert.Equal(RadPerS(900), speed(half), 1e-9);
    }

    private static RotorMotion Free(params LossTerm[] loss) => Spin(loss, topple: 300);

    private static RotorMotion Spin(LossTerm[] loss, double topple) => new SimulatedSpin(new SpinScenario
    {
        Spins = [new SpinPlan { Loss = loss, ToppleRpm = topple, Pushes = [new(1800, 0.5)] }],
    }).Motion;

    private static double RadPerS(double rpm) => rpm * Turn / 60;
}
