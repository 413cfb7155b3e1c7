using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Display;

namespace Acquire.Measure.Ensembles;

/// <summary>A speed that was shown.</summary>
/// <param name="SinceReleaseS">When, seconds after the true release.</param>
/// <param name="Rpm">The speed.</param>
/// <param name="U">Its stated standard uncertainty.</param>
/// <param name="Off">By how much it was off.</param>
internal readonly record struct LiveShown(double SinceReleaseS, double Rpm, double U, double Off);

/// <summary>A simulated spin played as bytes through the chain of a capture, and what a display would have shown after some of its pulses.
/// Invented data.</summary>
internal sealed class LiveSpin
{
    private const int LooksARun = 40;
    private static readonly HostDelays Delays = new() { AskEveryS = 10 };
    private readonly SimulatedSpin _spin;
    private readonly SpinTruth _truth;
    private readonly double[] _looksS;
    private readonly LiveChain _chain;
    private double _lastMarkS;
    private int _next;

    private LiveSpin(SpinScenario scenario, SeededNoise noise)
    {
        _spin = new SimulatedSpin(scenario);
        _truth = _spin.Spins[0];
        _looksS = [_truth.ReleaseS + noise.Uniform(1, 10), .. Enumerable.Range(0, LooksARun).Select(_ => noise.Uniform(_truth.ReleaseS, _truth.ToppleS))];
        Array.Sort(_looksS);
        _chain = new LiveChain(
            SourceFormats.CreateDecoder("pulse-lines", scenario.Board.TickHz),
            RunSettings.From(new CaptureOptions { Marks = scenario.Sensor.MarkOffsetsTurns.Count }));
    }

    /// <summary>What was shown while the body span freely.</summary>
    public List<LiveShown> Shown { get; } = [];

    /// <summary>How much older than the last mark that was seen the mark was, at the most, that a speed shown while the body span freely rests
    /// on, seconds.</summary>
    public double OldestS { get; private set; }

    /// <summary>Steps in which a display is told and drawn, seconds.</summary>
    public static double DisplayS => CaptureSession.PublishS + LiveScreen.IntervalS;

    /// <summary>Plays a spin; of its pulses some are looked at, spread over the time, so that each part of a run counts alike.</summary>
    public static LiveSpin Of(int seed, double wobbleTurns)
    {
        SpinScenario scenario = CoverageSpin.Scenario(seed, wobbleTurns);
        var noise = new SeededNoise(seed, 310);
        scenario = scenario with
        {
            Spins = [scenario.Spins[0] with { RestBeforeS = 60 }],
            Board = scenario.Board with { RatePpm = noise.Uniform(-5000, 5000) },
        };
        var live = new LiveSpin(scenario, noise);
        live.Play();
        return live;
    }

    private void Play()
    {
        SimulatedPulse[] pulses = [.. _spin.Pulses()];
        var found = new List<RunTransition>();
        using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(_spin, Delays);
        source.Start();
        long taken = 0;
        while (!source.Blocks.IsFinished)
        {
            source.Blocks.Wait(100);
            while (source.Blocks.TryRead(out SourceBlock block))
            {
                _chain.Take(block, found);
                _chain.PassTime(block.HostNs, found);
                found.Clear();
                for (; taken < _chain.Pulses; taken++)
                    Look(pulses[taken], block.HostNs);
            }
        }
    }

    private void Look(in SimulatedPulse pulse, long hostNs)
    {
        _lastMarkS = pulse.Origin == PulseOrigin.Mark ? pulse.TimeS : _lastMarkS;
        if (pulse.TimeS < _truth.ReleaseS || pulse.TimeS > _truth.ToppleS)
            return;
        LiveState seen = _chain.Look(hostNs);
        if (double.IsNaN(seen.Rpm))
            return;
        double ofS = pulse.TimeS - seen.SpeedAgeS;
        OldestS = Math.Max(OldestS, _lastMarkS - ofS);
        if (_next == _looksS.Length || pulse.TimeS < _looksS[_next])
            return;
        while (_next < _looksS.Length && pulse.TimeS >= _looksS[_next])
            _next++;
        Shown.Add(new LiveShown(pulse.TimeS - _truth.ReleaseS, seen.Rpm, seen.URpm, seen.Rpm - _spin.Motion.SpeedRpm(ofS)));
    }
}
