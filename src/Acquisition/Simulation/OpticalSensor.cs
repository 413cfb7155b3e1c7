namespace Acquire.Acquisition.Simulation;

/// <summary>A reflective sensor with its faults: turns the motion into pulses, a stretch of time at a time.</summary>
/// <remarks>An extra that overlaps a mark or another extra is hidden by it, so that the leading edge of a mark is always its own.</remarks>
internal sealed class OpticalSensor
{
    private const double StretchS = 0.5;
    private const double HoldBackS = 0.05;
    private const double LeastGapS = 5e-6;

    private readonly RotorMotion _motion;
    private readonly SensorSettings _settings;
    private readonly CrossingCursor _marks;
    private readonly CrossingCursor _glints;
    private readonly SensorExtras _extras;
    private readonly SeededNoise _jitter;
    private readonly SeededNoise _misses;
    private readonly SeededNoise _glintNoise;
    private readonly SeededNoise _bounces;
    private readonly List<SimulatedPulse> _waiting = [];
    private int _burstLeft;
    private double _busyUntilS = double.NegativeInfinity;

    internal OpticalSensor(RotorMotion motion, SensorSettings settings, int seed, double startTurns)
    {
        settings.Check();
        _motion = motion;
        _settings = settings;
        _jitter = new SeededNoise(seed, 1);
        _misses = new SeededNoise(seed, 2);
        _glintNoise = new SeededNoise(seed, 3);
        _bounces = new SeededNoise(seed, 4);
        _extras = new SensorExtras(motion, settings, seed);
        _marks = new CrossingCursor(motion, settings, settings.MarkOffsetsTurns, startTurns);
        _glints = new CrossingCursor(motion, settings, [settings.FixedGlintTurns], startTurns);
    }

    /// <summary>The pulses, in order of their leading edges.</summary>
    internal IEnumerable<SimulatedPulse> Pulses()
    {
        var ready = new List<SimulatedPulse>();
        for (double end = StretchS; end < _motion.DurationS + (2 * StretchS); end += StretchS)
        {
            AddMarks(end);
            AddFixedGlints(end);
            _extras.Add(end, _waiting);
            bool last = end + StretchS >= _motion.DurationS + (2 * StretchS);
            Settle(last ? double.PositiveInfinity : end - HoldBackS, ready);
            foreach (SimulatedPulse pulse in ready)
                yield return pulse;
        }
    }

    private void AddMarks(double endS)
    {
        bool sees = _settings.Lamp != LampLight.Alone;
        for (; _marks.TimeS < endS; _marks.Advance())
        {
            double gapS = SpinUnits.Turn / _marks.SpeedRadPerS / _settings.MarkOffsetsTurns.Count;
            AddRandomGlint(gapS);
            double jitterS = _settings.JitterS > 0 ? _settings.JitterS * _jitter.Gaussian() : 0;
            if (!sees || !_marks.Seen || IsMissed())
                continue;
            double widthS = _marks.WidthS(_settings.MarkWidthTurns);
            double trailS = _settings.JitterS > 0 ? _settings.JitterS * _jitter.Gaussian() : 0;
            _waiting.Add(new SimulatedPulse(
                _marks.TimeS + jitterS, Math.Max(LeastGapS, widthS + trailS - jitterS), PulseOrigin.Mark, _marks.Number));
        }
    }

    private bool IsMissed()
    {
        bool starts = _misses.Chance(_settings.MissBurstProbability);
        bool alone = _misses.Chance(_settings.MissProbability);
        if (_burstLeft == 0 && starts)
            _burstLeft = 1 + (int)_misses.Exponential(Math.Max(0, _settings.MissBurstMarks - 0.5));
        if (_burstLeft == 0)
            return alone;
        _burstLeft--;
        return true;
    }

    private void AddRandomGlint(double gapS)
    {
        double mean = _settings.RandomGlintsPerTurn / _settings.MarkOffsetsTurns.Count;
        if (mean <= 0)
            return;
        double at = _glintNoise.Exponential(1 / mean);
        for (; at < 1; at += _glintNoise.Exponential(1 / mean))
        {
            double widthS = LeastGapS + _glintNoise.Exponential(_settings.RandomGlintS);
            if (_marks.Seen)
                _waiting.Add(new SimulatedPulse(_marks.TimeS + (at * gapS), widthS, PulseOrigin.RandomGlint, -1));
        }
    }

    private void AddFixedGlints(double endS)
    {
        if (_settings.FixedGlintProbability <= 0)
            return;
        for (; _glints.TimeS < endS; _glints.Advance())
        {
            if (_glintNoise.Chance(_settings.FixedGlintProbability) && _glints.Seen && _settings.Lamp != LampLight.Alone)
            {
                double jitterS = _settings.JitterS * _jitter.Gaussian();
                _waiting.Add(new SimulatedPulse(
                    _glints.TimeS + jitterS, _glints.WidthS(_settings.FixedGlintWidthTurns), PulseOrigin.FixedGlint, -1));
            }
        }
    }

    /// <summary>Puts what waits in order, hides what overlaps, lets marks bounce, and gives what begins before a moment.</summary>
    private void Settle(double untilS, List<SimulatedPulse> ready)
    {
        ready.Clear();
        _waiting.Sort(static (a, b) => a.TimeS.CompareTo(b.TimeS));
        int taken = 0;
        double busyUntilS = _busyUntilS;
        for (; taken < _waiting.Count && _waiting[taken].TimeS < untilS; taken++)
        {
            SimulatedPulse pulse = _waiting[taken];
            bool isMark = pulse.Origin == PulseOrigin.Mark;
            if (IsBlind(pulse.TimeS) || (pulse.TimeS < busyUntilS && !(isMark && MakeRoom(ready, pulse.TimeS))))
                continue;
            busyUntilS = pulse.TimeS + pulse.WidthS + LeastGapS;
            if (isMark)
                AddWithBounce(pulse, ready);
            else
                ready.Add(pulse);
        }

        _waiting.RemoveRange(0, taken);
        _busyUntilS = busyUntilS;
    }

    /// <summary>A mark ends an extra that is still bright when it comes.</summary>
    private static bool MakeRoom(List<SimulatedPulse> ready, double markS)
    {
        if (ready.Count == 0)
            return false;
        SimulatedPulse before = ready[^1];
        if (before.Origin is PulseOrigin.Mark or PulseOrigin.Bounce)
            return false;
        double leftS = markS - LeastGapS - before.TimeS;
        if (leftS > LeastGapS)
            ready[^1] = before with { WidthS = leftS };
        else
            ready.RemoveAt(ready.Count - 1);
        return true;
    }

    private bool IsBlind(double timeS)
    {
        foreach (Blind blind in _settings.Blind)
        {
            if (timeS >= blind.StartS && timeS < blind.EndS)
                return true;
        }

        return false;
    }

    /// <summary>A bounce cuts the mark into short pieces at its leading edge: the first keeps the mark's moment.</summary>
    private void AddWithBounce(SimulatedPulse mark, List<SimulatedPulse> ready)
    {
        if (_settings.BounceProbability <= 0 || !_bounces.Chance(_settings.BounceProbability))
        {
            ready.Add(mark);
            return;
        }

        int edges = 1 + _bounces.Below(_settings.BounceEdges);
        double stepS = Math.Min(_settings.BounceS, mark.WidthS / 3) / edges;
        ready.Add(mark with { WidthS = stepS * _bounces.Uniform(0.2, 0.6) });
        for (int i = 1; i <= edges; i++)
        {
            double startS = mark.TimeS + (stepS * (i - 1 + _bounces.Uniform(0.7, 1.0)));
            double endS = i < edges ? mark.TimeS + (stepS * (i + _bounces.Uniform(0.1, 0.6))) : mark.TimeS + mark.WidthS;
            ready.Add(new SimulatedPulse(startS, endS - startS, PulseOrigin.Bounce, mark.Mark));
        }
    }
}
