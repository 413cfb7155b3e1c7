using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>How well the pulses of one simulated spin were judged.</summary>
/// <param name="Seed">The seed.</param>
/// <param name="Pulses">All pulses.</param>
/// <param name="Wrong">Pulses that the judgement after the run got wrong: a mark taken for an extra or the other way.</param>
/// <param name="TurnsOff">Marks that the count at the end of the run is off, seen and missed ones together, counted from the first mark
/// that the pulses can tell (see <see cref="FirstTold"/>).</param>
/// <param name="TurnsOffInAll">The same from the very first mark that was seen.</param>
/// <param name="BeyondStated">Turns by which that count is off beyond what the bridged gaps state: 1.96 of their uncertainty together,
/// and half a turn since turns are whole; 0 where it is not.</param>
/// <param name="CutWrong">As <paramref name="Wrong"/>, where the detector of runs cut the run from the stream; what is outside counts
/// as extra.</param>
/// <param name="CutTurnsOff">As <paramref name="TurnsOff"/>, likewise.</param>
/// <param name="LiveWrong">Pulses that the live tracker got wrong.</param>
/// <param name="LiveTurnsOff">Marks that its count is off at its last mark, from its first mark on.</param>
internal readonly record struct MarksScore(
    int Seed, int Pulses, int Wrong, double TurnsOff, double TurnsOffInAll, double BeyondStated, int CutWrong, double CutTurnsOff, int LiveWrong, double LiveTurnsOff)
{
    /// <summary>Plays a scenario out and judges it.</summary>
    internal static MarksScore Of(int seed, SpinScenario scenario)
    {
        BoardPulse[] truth = [.. new SimulatedSpin(scenario).BoardPulses()];
        int marks = scenario.Sensor.MarkOffsetsTurns.Count;
        var settings = new TrackerSettings { TickHz = scenario.Board.TickHz, MarksPerTurn = marks };
        Pulse[] pulses = [.. truth.Select(p => p.Pulse)];
        JudgedRun run = JudgeRun(pulses, settings);
        IReadOnlyList<JudgedPulse> whole = run.Pulses;
        JudgedPulse[] live = Follow(pulses, settings, out int first, out int last);
        IReadOnlyList<JudgedPulse> cut = first < 0 ? [] : Judge(pulses[first..(last + 1)], settings);
        return new MarksScore(
            seed, truth.Length, CountWrong(truth, whole, 0), OffBy(truth, whole, 0, marks), OffInAll(truth, whole, marks), BeyondStatedBy(run, OffBy(truth, whole, 0, marks) / marks), CountWrong(truth, cut, Math.Max(first, 0)),
            OffBy(truth, cut, Math.Max(first, 0), marks), CountWrong(truth, live, 0), LiveOff(truth, live, marks));
    }

    /// <summary>How many marks the judgement saw, where so many are set.</summary>
    internal static int MarksSeen(SpinScenario scenario, int set) => RunJudge.Judge(
        [.. new SimulatedSpin(scenario).BoardPulses().Select(p => p.Pulse)],
        new TrackerSettings { TickHz = scenario.Board.TickHz, MarksPerTurn = set }).MarksSeen;

    private static IReadOnlyList<JudgedPulse> Judge(Pulse[] pulses, TrackerSettings settings) => JudgeRun(pulses, settings).Pulses;

    private static JudgedRun JudgeRun(Pulse[] pulses, TrackerSettings settings) =>
        GapBridge.Settle(RunJudge.Judge(pulses, settings), 1 / settings.TickHz, settings.MarksPerTurn);

    private static double BeyondStatedBy(JudgedRun run, double turnsOff)
    {
        double variance = run.Bridges.Sum(b => b.UTurns * b.UTurns);
        double allowed = variance == 0 ? 0 : 0.5 + (1.96 * Math.Sqrt(variance));
        return Math.Max(0, Math.Abs(turnsOff) - allowed);
    }

    private static int CountWrong(BoardPulse[] truth, IReadOnlyList<JudgedPulse> judged, int from)
    {
        int wrong = 0;
        for (int i = 0; i < truth.Length; i++)
        {
            bool taken = i >= from && i < from + judged.Count && judged[i - from].Kind == PulseKind.Mark;
            wrong += taken == (truth[i].Truth.Origin == PulseOrigin.Mark) ? 0 : 1;
        }

        return wrong;
    }

    /// <summary>The length of the run in marks, from the first mark that the pulses can tell to the last, judged less true.</summary>
    private static double OffBy(BoardPulse[] truth, IReadOnlyList<JudgedPulse> judged, int from, int marks)
    {
        int[] seen = Marks(truth);
        int first = FirstTold(truth, seen);
        if (first < from || first - from >= judged.Count || judged[first - from].Kind != PulseKind.Mark)
            return double.PositiveInfinity;
        double turns = judged.Last(p => p.Kind == PulseKind.Mark).Turns - judged[first - from].Turns;
        return Math.Round(turns * marks) - (truth[seen[^1]].Truth.Mark - truth[first].Truth.Mark);
    }

    private static double OffInAll(BoardPulse[] truth, IReadOnlyList<JudgedPulse> judged, int marks)
    {
        JudgedPulse[] taken = [.. judged.Where(p => p.Kind == PulseKind.Mark)];
        int[] seen = Marks(truth);
        return taken.Length == 0
            ? double.PositiveInfinity
            : Math.Round((taken[^1].Turns - taken[0].Turns) * marks) - (truth[seen[^1]].Truth.Mark - truth[seen[0]].Truth.Mark);
    }

    private static int[] Marks(BoardPulse[] truth) =>
        [.. Enumerable.Range(0, truth.Length).Where(i => truth[i].Truth.Origin == PulseOrigin.Mark)];

    /// <summary>The first mark from which the pulses can tell the count. A body that is pushed from rest is known to grow faster and
    /// nothing else: between two marks it turned by less than the time times the speed after them. Where that leaves room for more than
    /// one number of marks, as where the first mark came long before the second or marks were missed meanwhile, pulses alone tell neither
    /// how often it turned nor whether the first was a flash of the hand. Such intervals at the very beginning are left out; all that
    /// comes after the first interval that leaves one number counts.</summary>
    internal static int FirstTold(BoardPulse[] truth, int[] seen)
    {
        for (int i = 0; i + 2 < seen.Length; i++)
        {
            (SimulatedPulse a, SimulatedPulse b, SimulatedPulse c) = (truth[seen[i]].Truth, truth[seen[i + 1]].Truth, truth[seen[i + 2]].Truth);
            double atMost = (b.TimeS - a.TimeS) * (c.Mark - b.Mark) / (c.TimeS - b.TimeS);
            if (atMost < b.Mark - a.Mark + 1 && b.Mark - a.Mark == 1)
                return seen[i];
        }

        return seen[0];
    }

    private static double LiveOff(BoardPulse[] truth, JudgedPulse[] live, int marks)
    {
        int[] right = [.. Enumerable.Range(0, live.Length).Where(i => live[i].Kind == PulseKind.Mark && truth[i].Truth.Origin == PulseOrigin.Mark)];
        if (right.Length < 2)
            return double.PositiveInfinity;
        return Math.Round((live[right[^1]].Turns - live[right[0]].Turns) * marks) - (truth[right[^1]].Truth.Mark - truth[right[0]].Truth.Mark);
    }

    // The way of the capture: tracker and detector of runs, time passing in steps of a tenth of a second.
    private static JudgedPulse[] Follow(Pulse[] pulses, TrackerSettings settings, out int first, out int last)
    {
        var tracker = new MarkTracker(settings);
        var detector = new RunDetector(new RunRules { TickHz = settings.TickHz });
        var judged = new List<JudgedPulse>(pulses.Length);
        var found = new List<RunTransition>();
        int shown = 0;
        double now = 0;
        foreach (Pulse pulse in pulses)
        {
            for (; now < pulse.Ticks / settings.TickHz; now += 0.1)
                detector.PassTime((long)(now * settings.TickHz), true, found);
            tracker.Add(pulse, judged);
            for (; shown < judged.Count; shown++)
                detector.See(judged[shown], tracker, found);
        }

        tracker.Finish(judged);
        for (; shown < judged.Count; shown++)
            detector.See(judged[shown], tracker, found);
        for (int i = 0; i < 1000; i++)
            detector.PassTime((long)((now + i) * settings.TickHz), true, found);
        List<RunTransition> ended = [.. found.Where(f => f.Kind == RunTransitionKind.Ended)];
        (first, last) = ended.Count == 1 ? ((int)ended[0].FirstPulse, (int)ended[0].LastPulse) : (-1, -1);
        return [.. judged];
    }
}
