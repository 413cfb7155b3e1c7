namespace Acquire.Acquisition.Simulation;

/// <summary>Pulses that have nothing to do with the body's turning: lamp light, a hand, a body that rolls about.</summary>
internal sealed class SensorExtras
{
    private readonly RotorMotion _motion;
    private readonly SensorSettings _settings;
    private readonly SeededNoise _lamp;
    private readonly List<SimulatedPulse> _handled = [];
    private readonly double _lampPhase;
    private long _flash;
    private int _nextHandled;

    internal SensorExtras(RotorMotion motion, SensorSettings settings, int seed)
    {
        _motion = motion;
        _settings = settings;
        _lamp = new SeededNoise(seed, 5);
        _lampPhase = _lamp.Uniform();
        var noise = new SeededNoise(seed, 6);
        foreach (SpinTruth spin in motion.Spins)
            AddAround(spin, noise);
        _handled.Sort(static (a, b) => a.TimeS.CompareTo(b.TimeS));
    }

    /// <summary>Adds what begins before a moment and was not added yet.</summary>
    internal void Add(double endS, List<SimulatedPulse> pulses)
    {
        for (; _nextHandled < _handled.Count && _handled[_nextHandled].TimeS < endS; _nextHandled++)
            pulses.Add(_handled[_nextHandled]);
        if (_settings.Lamp != LampLight.None)
            AddLamp(endS, pulses);
    }

    private void AddLamp(double endS, List<SimulatedPulse> pulses)
    {
        double last = Math.Min(endS, _motion.DurationS);
        for (double at = (_flash + _lampPhase) / _settings.LampHz; at < last; at = (++_flash + _lampPhase) / _settings.LampHz)
        {
            double jitterS = 30e-6 * _lamp.Gaussian();
            double widthS = _settings.LampDuty / _settings.LampHz * _lamp.Uniform(0.97, 1.03);
            if (_lamp.Chance(_settings.LampSeenProbability) && (_settings.Lamp != LampLight.AtRest || _motion.KindAt(at) == MotionKind.Rest))
                pulses.Add(new SimulatedPulse(at + jitterS, widthS, PulseOrigin.Lamp, -1));
        }
    }

    private void AddAround(SpinTruth spin, SeededNoise noise)
    {
        for (int i = 0; i < spin.Plan.HandFlashes; i++)
        {
            double at = Math.Max(0, spin.LaunchS - noise.Uniform(0.02, 1));
            _handled.Add(new SimulatedPulse(at, noise.Uniform(0.001, 0.015), PulseOrigin.Hand, -1));
        }

        for (int i = 0; i < spin.Plan.RollingFlashes; i++)
        {
            double share = noise.Uniform();
            double at = spin.StopS + (spin.Plan.RollingS * share * share);
            _handled.Add(new SimulatedPulse(at, noise.Uniform(0.001, 0.02), PulseOrigin.Rolling, -1));
        }
    }
}
