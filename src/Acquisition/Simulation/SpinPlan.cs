namespace Acquire.Acquisition.Simulation;

/// <summary>One term of the loss: the body slows by <c>a·(ω/ω_ref)^p</c>.</summary>
/// <param name="Exponent">p, 0 or more (0 dry contact, 1 viscous, 1.5 laminar, 1.8 turbulent, 2 pressure drag).</param>
/// <param name="DecelerationRadPerS2">a, deceleration at the reference speed, rad/s², 0 or more.</param>
public readonly record struct LossTerm(double Exponent, double DecelerationRadPerS2);

/// <summary>A cover that takes a share off the air's loss (the terms above the first power) at speed and nothing when slow: the share is cut/(1 + (above/n)^sharpness).</summary>
/// <param name="Cut">The share at high speed, below 1.</param>
/// <param name="AboveRpm">Speed at which it takes off half of that, rpm, more than 0.</param>
/// <param name="Sharpness">How abruptly it sets in, 1 or more.</param>
public readonly record struct CoverEffect(double Cut, double AboveRpm, double Sharpness = 14);

/// <summary>One push of the hand. The acceleration is a raised cosine, so that the speed is smooth and greatest at its end.</summary>
/// <param name="ToRpm">Speed at its end, rpm; more than the speed at its start.</param>
/// <param name="DurationS">How long it lasts, s, more than 0.</param>
/// <param name="PauseAfterS">How long the body spins freely before the next push, s; not used after the last.</param>
public readonly record struct Push(double ToRpm, double DurationS, double PauseAfterS = 0);

/// <summary>One spin: a rest, a launch by hand, the free decay and the fall.</summary>
public sealed record SpinPlan
{
    /// <summary>Rest before the first push, s.</summary>
    public double RestBeforeS { get; init; } = 5;

    /// <summary>The launch: one flick or several pushes. The body is released at the end of the last.</summary>
    public IReadOnlyList<Push> Pushes { get; init; } = [new(1850, 0.6)];

    /// <summary>The law of loss.</summary>
    public IReadOnlyList<LossTerm> Loss { get; init; } = [new(0, 0.02), new(1, 0.012), new(1.5, 0.02), new(2, 0.008)];

    /// <summary>What a cover takes off the loss; null without one.</summary>
    public CoverEffect? Cover { get; init; }

    /// <summary>ω_ref of the law, rpm.</summary>
    public double ReferenceRpm { get; init; } = 1000;

    /// <summary>Speed at which the body falls over, rpm; 0 for a wheel on bearings that runs down to a stop, which needs a dry term.</summary>
    public double ToppleRpm { get; init; } = 250;

    /// <summary>How long the fall lasts until the body no longer turns about its axis, s; 0 for none (it stops at once).</summary>
    public double FallS { get; init; } = 0.5;

    /// <summary>The share of the fall, from its start, in which the sensor still sees the marks, 0 to 1.</summary>
    public double FallSeenShare { get; init; }

    /// <summary>How long the fallen body rolls about after the fall, s.</summary>
    public double RollingS { get; init; }

    /// <summary>Irregular flashes that the rolling body gives, ever rarer.</summary>
    public int RollingFlashes { get; init; }

    /// <summary>Flashes that the hand gives in the second before the launch.</summary>
    public int HandFlashes { get; init; }

    /// <summary>The same plan with its loss scaled so that the time from release to the fall is <paramref name="spinTimeS"/>.</summary>
    public SpinPlan Lasting(double spinTimeS)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(spinTimeS);
        double now = new LossLaw(this).TimeBetween(SpinUnits.RadPerS(Pushes[^1].ToRpm), SpinUnits.RadPerS(ToppleRpm));
        double factor = now / spinTimeS;
        return this with { Loss = [.. Loss.Select(term => term with { DecelerationRadPerS2 = term.DecelerationRadPerS2 * factor })] };
    }

    internal void Check()
    {
        ArgumentOutOfRangeException.ThrowIfNegative(RestBeforeS);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(ReferenceRpm);
        ArgumentOutOfRangeException.ThrowIfNegative(ToppleRpm);
        ArgumentOutOfRangeException.ThrowIfNegative(FallS);
        ArgumentOutOfRangeException.ThrowIfNegative(RollingS);
        ArgumentOutOfRangeException.ThrowIfZero(Pushes.Count);
        if (Cover is { } cover)
        {
            ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(cover.Cut, 1);
            ArgumentOutOfRangeException.ThrowIfNegativeOrZero(cover.AboveRpm);
            ArgumentOutOfRangeException.ThrowIfLessThan(cover.Sharpness, 1);
        }

        ArgumentOutOfRangeException.ThrowIfLessThanOrEqual(Pushes[^1].ToRpm, ToppleRpm);
        foreach (LossTerm term in Loss)
        {
            ArgumentOutOfRangeException.ThrowIfNegative(term.Exponent);
            ArgumentOutOfRangeException.ThrowIfNegative(term.DecelerationRadPerS2);
        }

        if (!Loss.Any(term => term.DecelerationRadPerS2 > 0 && (ToppleRpm > 0 || term.Exponent == 0)))
            throw new ArgumentException("The loss must bring the body to the speed at which it falls.");
    }
}

internal static class SpinUnits
{
    internal const double Turn = 2 * Math.PI;

    internal static double RadPerS(double rpm) => rpm * (Turn / 60);

    internal static double Rpm(double radPerS) => radPerS * (60 / Turn);
}
