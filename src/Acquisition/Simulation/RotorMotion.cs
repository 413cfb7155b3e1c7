namespace Acquire.Acquisition.Simulation;

/// <summary>The true angle of the body as a function of time, over a whole scenario. Angles count from the body's place at time 0.</summary>
public sealed class RotorMotion
{
    private readonly MotionSegment[] _segments;

    internal RotorMotion(MotionSegment[] segments, SpinTruth[] spins)
    {
        _segments = segments;
        Spins = spins;
        DurationS = segments.Length == 0 ? 0 : segments[^1].EndS;
    }

    /// <summary>The truth of each spin, in order.</summary>
    public IReadOnlyList<SpinTruth> Spins { get; }

    /// <summary>Length of the scenario, s.</summary>
    public double DurationS { get; }

    /// <summary>Turns made by a moment.</summary>
    public double Turns(double timeS)
    {
        ref readonly MotionSegment segment = ref _segments[IndexAt(timeS)];
        return (segment.StartRad + segment.Turned(Math.Clamp(timeS, segment.StartS, segment.EndS))) / SpinUnits.Turn;
    }

    /// <summary>Speed at a moment, rpm.</summary>
    public double SpeedRpm(double timeS)
    {
        ref readonly MotionSegment segment = ref _segments[IndexAt(timeS)];
        return SpinUnits.Rpm(segment.Speed(Math.Clamp(timeS, segment.StartS, segment.EndS)));
    }

    /// <summary>What the body does at a moment.</summary>
    public MotionKind KindAt(double timeS) => _segments[IndexAt(timeS)].Kind;

    /// <summary>The moment at which the body has made a number of turns, s; NaN where it never does.</summary>
    public double TimeAtTurns(double turns)
    {
        double angle = turns * SpinUnits.Turn;
        int low = 0;
        int high = _segments.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_segments[middle].EndRad < angle)
                low = middle + 1;
            else
                high = middle;
        }

        return low == _segments.Length || angle < 0 ? double.NaN : _segments[low].TimeAt(angle - _segments[low].StartRad);
    }

    internal ReadOnlySpan<MotionSegment> Segments => _segments;

    private int IndexAt(double timeS)
    {
        int low = 0;
        int high = _segments.Length - 1;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_segments[middle].EndS <= timeS)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }
}
