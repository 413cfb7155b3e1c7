namespace Acquire.Acquisition.Simulation;

/// <summary>Walks through the moments at which places on the body pass the sensor, in order.</summary>
internal sealed class CrossingCursor
{
    private readonly RotorMotion _motion;
    private readonly SensorSettings _sensor;
    private readonly double[] _offsets;
    private readonly double _startTurns;
    private int _segment;
    private long _next;

    internal CrossingCursor(RotorMotion motion, SensorSettings sensor, IReadOnlyList<double> offsets, double startTurns)
    {
        _motion = motion;
        _sensor = sensor;
        _offsets = [.. offsets];
        _startTurns = startTurns;
        while (_next < _offsets.Length && _offsets[_next] <= startTurns)
            _next++;
        Move();
    }

    /// <summary>Number of the place that passes next: turn × places + index.</summary>
    internal long Number => _next;

    /// <summary>When it passes, s; infinite where it never does.</summary>
    internal double TimeS { get; private set; }

    /// <summary>Speed of the body then, rad/s.</summary>
    internal double SpeedRadPerS { get; private set; }

    /// <summary>Whether the sensor still sees the marks then (they are lost in the fall).</summary>
    internal bool Seen { get; private set; }

    internal void Advance()
    {
        _next++;
        Move();
    }

    /// <summary>How long a place of the given width that begins to pass now takes to do so, s.</summary>
    internal double WidthS(double widthTurns)
    {
        double target = Angle(_next) + (widthTurns * SpinUnits.Turn);
        double time = TimeS + (widthTurns * SpinUnits.Turn / SpeedRadPerS);
        ReadOnlySpan<MotionSegment> segments = _motion.Segments;
        int at = _segment;
        while (at < segments.Length && segments[at].EndRad < target)
            at++;
        if (at == segments.Length)
            return _motion.DurationS - TimeS;
        if (segments[at].Kind == MotionKind.Free)
            return time - TimeS; // the speed changes by some millionths meanwhile
        return segments[at].TimeAt(target - segments[at].StartRad) - TimeS;
    }

    /// <summary>The true moment at which a place passes, without wobble; NaN where it never does.</summary>
    internal double TrueTimeS(long number) => _motion.TimeAtTurns(Angle(number) / SpinUnits.Turn);

    private double Angle(long number)
    {
        (long turn, long index) = Math.DivRem(number, _offsets.Length);
        return (turn + _offsets[index] - _startTurns) * SpinUnits.Turn;
    }

    private void Move()
    {
        double angle = Angle(_next);
        ReadOnlySpan<MotionSegment> segments = _motion.Segments;
        while (_segment < segments.Length && segments[_segment].EndRad < angle)
            _segment++;
        if (_segment == segments.Length)
        {
            TimeS = double.PositiveInfinity;
            SpeedRadPerS = 0;
            Seen = false;
            return;
        }

        ref readonly MotionSegment segment = ref segments[_segment];
        double time = segment.TimeAt(angle - segment.StartRad);
        SpeedRadPerS = segment.Speed(time);
        SpinTruth spin = _motion.Spins[segment.Spin];
        if (segment.Kind == MotionKind.Free && _sensor.WobbleTurns > 0)
            time = Wobbled(segment, time, spin);
        Seen = segment.Kind != MotionKind.Fall
            || time - spin.ToppleS <= spin.Plan.FallSeenShare * spin.Plan.FallS;
        TimeS = time;
    }

    private double Wobbled(in MotionSegment segment, double time, SpinTruth spin)
    {
        double shifted = time;
        for (int i = 0; i < 3; i++)
            shifted = time - (Wobble(segment, shifted, spin) * SpinUnits.Turn / SpeedRadPerS);
        return shifted;
    }

    /// <summary>How far the wobble carries the body's marks forward, turns. It sets in over a second or so after the release.</summary>
    private double Wobble(in MotionSegment segment, double timeS, SpinTruth spin)
    {
        double onset = timeS < spin.ReleaseS ? 0 : 1 - Math.Exp(spin.ReleaseS - timeS);
        double topple = SpinUnits.RadPerS(spin.Plan.ToppleRpm) / SpeedRadPerS;
        double amplitude = _sensor.WobbleTurns * (1 + ((_sensor.WobbleGrowth - 1) * topple * topple * topple * topple));
        double phase = segment.Precession(timeS) * _sensor.WobbleHzAt1000Rpm * SpinUnits.RadPerS(1000) * SpinUnits.Turn;
        return onset * amplitude * Math.Sin(phase);
    }
}
