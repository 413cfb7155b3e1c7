namespace Acquire.Acquisition.Simulation;

/// <summary>What the body does.</summary>
public enum MotionKind : byte
{
    /// <summary>It stands still.</summary>
    Rest,

    /// <summary>The hand drives it.</summary>
    Push,

    /// <summary>It spins freely.</summary>
    Free,

    /// <summary>It falls over.</summary>
    Fall,
}

/// <summary>A short time of the motion, the angle as a polynomial of the fifth degree that meets angle, speed and acceleration at both ends.</summary>
internal readonly struct MotionSegment
{
    internal MotionSegment(
        MotionKind kind, int spin, double startS, double durationS, double startRad, double turnedRad,
        (double Start, double End) speed, (double Start, double End) acceleration, (double Start, double Added) precession)
    {
        Kind = kind;
        Spin = spin;
        StartS = startS;
        DurationS = durationS;
        StartRad = startRad;
        TurnedRad = turnedRad;
        _c1 = durationS * speed.Start;
        _c2 = durationS * durationS * acceleration.Start / 2;
        double d = turnedRad - _c1 - _c2;
        double v = (durationS * (speed.End - speed.Start)) - (2 * _c2);
        double a = durationS * durationS * (acceleration.End - acceleration.Start);
        _c3 = (10 * d) - (4 * v) + (a / 2);
        _c4 = (-15 * d) + (7 * v) - a;
        _c5 = (6 * d) - (3 * v) + (a / 2);
        StartSpeed = speed.Start;
        PrecessionStart = precession.Start;
        PrecessionAdded = precession.Added;
        _inverseStart = speed.Start > 0 ? durationS / speed.Start : precession.Added;
        _inverseEnd = speed.End > 0 ? durationS / speed.End : precession.Added;
    }

    private readonly double _c1;
    private readonly double _c2;
    private readonly double _c3;
    private readonly double _c4;
    private readonly double _c5;
    private readonly double _inverseStart;
    private readonly double _inverseEnd;

    internal MotionKind Kind { get; }

    internal int Spin { get; }

    internal double StartS { get; }

    internal double DurationS { get; }

    internal double EndS => StartS + DurationS;

    internal double StartRad { get; }

    internal double TurnedRad { get; }

    internal double EndRad => StartRad + TurnedRad;

    internal double StartSpeed { get; }

    internal double PrecessionStart { get; }

    internal double PrecessionAdded { get; }

    /// <summary>Angle since the segment's start, rad.</summary>
    internal double Turned(double timeS)
    {
        double u = (timeS - StartS) / DurationS;
        return u * (_c1 + (u * (_c2 + (u * (_c3 + (u * (_c4 + (u * _c5))))))));
    }

    internal double Speed(double timeS)
    {
        double u = (timeS - StartS) / DurationS;
        return (_c1 + (u * ((2 * _c2) + (u * ((3 * _c3) + (u * ((4 * _c4) + (u * 5 * _c5)))))))) / DurationS;
    }

    /// <summary>Precession angle, radians before scaling by the reference: the integral of 1/ω, as a cubic that meets it and 1/ω at both
    /// ends.</summary>
    internal double Precession(double timeS)
    {
        double u = (timeS - StartS) / DurationS;
        double bend = (3 * PrecessionAdded) - (2 * _inverseStart) - _inverseEnd;
        double twist = _inverseStart + _inverseEnd - (2 * PrecessionAdded);
        return PrecessionStart + (u * (_inverseStart + (u * (bend + (u * twist)))));
    }

    /// <summary>The moment at which the angle since the segment's start is <paramref name="turnedRad"/>.</summary>
    internal double TimeAt(double turnedRad)
    {
        double low = 0;
        double high = 1;
        double u = TurnedRad > 0 ? turnedRad / TurnedRad : 0;
        for (int i = 0; i < 60; i++)
        {
            double value = (u * (_c1 + (u * (_c2 + (u * (_c3 + (u * (_c4 + (u * _c5))))))))) - turnedRad;
            double slope = _c1 + (u * ((2 * _c2) + (u * ((3 * _c3) + (u * ((4 * _c4) + (u * 5 * _c5)))))));
            if (value > 0)
                high = u;
            else
                low = u;
            double next = slope > 0 ? u - (value / slope) : -1;
            if (!(next >= low && next <= high))
                next = (low + high) / 2;
            double step = Math.Abs(next - u);
            u = next;
            if (step * DurationS < 1e-13 * Math.Max(1, StartS))
                break;
        }

        return StartS + (u * DurationS);
    }
}
