using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>A run as it was found and worked out; times in seconds of the scenario.</summary>
/// <param name="First">Ordinal of its first pulse.</param>
/// <param name="Last">Ordinal of its last.</param>
/// <param name="End">Why it ended.</param>
/// <param name="Judged">Its pulses as judged after the end.</param>
/// <param name="Spin">Where it ended.</param>
internal sealed record FoundRun(int First, int Last, RunEnd End, JudgedRun Judged, SpinEnd Spin);

/// <summary>Plays simulated pulses through tracker and detector as a capture does, with no bytes and no files, and works out each run.</summary>
internal sealed class StopPlayback
{
    private const double StepS = 0.1;
    private readonly int _marks;
    private readonly double _tickHz;
    private readonly MarkTracker _tracker;
    private readonly RunDetector _detector;
    private readonly List<JudgedPulse> _judged = [];
    private readonly List<RunTransition> _found = [];
    private double _nowS;

    public StopPlayback(double tickHz, int marks)
    {
        _marks = marks;
        _tickHz = tickHz;
        _tracker = new MarkTracker(Settings);
        _detector = new RunDetector(Rules);
    }

    /// <summary>All that the detector said.</summary>
    public List<RunTransition> Transitions { get; } = [];

    /// <summary>The pulses played.</summary>
    public List<BoardPulse> Pulses { get; } = [];

    private RunRules Rules => new() { TickHz = _tickHz };

    private TrackerSettings Settings => new() { TickHz = _tickHz, MarksPerTurn = _marks, FastestTurnsPerS = 200, RememberS = 960 };

    /// <summary>Plays a scenario.</summary>
    /// <param name="simulated">The scenario.</param>
    /// <param name="restartsS">Where the board begins again: some pulses are lost, and its ticks are joined by a clock that is a little off.</param>
    public void Play(SimulatedSpin simulated, IReadOnlyList<double> restartsS)
    {
        var noise = new SeededNoise(simulated.Scenario.Seed, 202);
        long[] joins = [.. restartsS.Select(_ => (long)(2e-3 * _tickHz * noise.Gaussian()))];
        foreach (BoardPulse pulse in simulated.BoardPulses())
        {
            int restarts = restartsS.Count(r => r <= pulse.Truth.TimeS);
            if (restarts > 0 && pulse.Truth.TimeS < restartsS[restarts - 1] + simulated.Scenario.Board.RestartS)
                continue;
            Take(pulse with { Pulse = pulse.Pulse with { Ticks = pulse.Pulse.Ticks + joins.Take(restarts).Sum() } });
        }

        PassTime(simulated.Motion.DurationS);
    }

    /// <summary>Plays one pulse.</summary>
    public void Take(BoardPulse pulse)
    {
        PassTime(pulse.Truth.TimeS);
        Pulses.Add(pulse);
        _judged.Clear();
        _detector.Hear(pulse.Pulse.Ticks);
        _tracker.Add(pulse.Pulse, _judged);
        for (int i = 0; i < _judged.Count; i++)
            _detector.See(_judged[i], _tracker, _found);
        Follow();
    }

    /// <summary>Lets time pass in which no pulse comes.</summary>
    public void PassTime(double untilS)
    {
        for (; _nowS < untilS; _nowS += StepS)
        {
            _detector.PassTime((long)(_nowS * _tickHz), true, _found);
            Follow();
        }
    }

    /// <summary>Why runs that were found could not be worked out: a fault of the program, which must not hide the others.</summary>
    public List<string> Faults { get; } = [];

    /// <summary>Works out the runs that were found.</summary>
    public List<FoundRun> Runs()
    {
        var runs = new List<FoundRun>();
        foreach (RunTransition t in Transitions.Where(t => t.Kind == RunTransitionKind.Ended))
        {
            try
            {
                runs.Add(Work(t));
            }
            catch (ArgumentException e)
            {
                Faults.Add(e.Message + e.StackTrace?.Split('\n').First(l => l.Contains("Acquire.", StringComparison.Ordinal)));
            }
        }

        return runs;
    }

    private FoundRun Work(RunTransition t)
    {
        (int first, int last) = ((int)t.FirstPulse, (int)t.LastPulse);
        Pulse[] pulses = [.. Pulses.Skip(first).Take(last - first + 1).Select(p => p.Pulse)];
        JudgedRun judged = GapBridge.Settle(RunJudge.Judge(pulses, Settings), 1 / _tickHz, _marks);
        MarkSeries marks = MarkSeries.From(judged.Pulses, 1 / _tickHz);
        return new FoundRun(first, last, t.End, judged, SpinEnd.Place(judged, 1 / _tickHz, _marks, Rules.MayEndBelow(PeakTurnsPerS(marks))));
    }

    private static double PeakTurnsPerS(MarkSeries marks)
    {
        double peak = 0;
        for (int i = 8; i < marks.Count; i++)
            peak = Math.Max(peak, (marks.Turns[i] - marks.Turns[i - 8]) / (marks.TimeS[i] - marks.TimeS[i - 8]));
        return peak;
    }

    private void Follow()
    {
        if (_found.Count == 0)
            return;
        if (_found[^1].Kind is RunTransitionKind.Ended or RunTransitionKind.Dismissed)
            _tracker.Forget();
        Transitions.AddRange(_found);
        _found.Clear();
    }
}
