using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;

namespace Acquire.Measure.Ensembles;

/// <summary>What a session's runs were, beside what they should have been.</summary>
internal sealed class StopTally
{
    public int Spins { get; private set; }
    public int Missed { get; private set; }
    public int False { get; private set; }
    public int Seen { get; private set; }
    public int StoppedRight { get; private set; }
    public int Placed { get; private set; }
    public int Stated { get; private set; }
    public int Held { get; private set; }
    public int Ranges { get; private set; }
    public int WithinRange { get; private set; }
    public int Faults { get; private set; }

    /// <summary>What went wrong, for whoever looks into it.</summary>
    public List<string> Notes { get; } = [];

    /// <summary>Plays the session of a seed and compares.</summary>
    public static StopTally Of(int seed)
    {
        StopScenario session = StopScenario.Of(seed);
        var simulated = new SimulatedSpin(session.Scenario);
        var playback = new StopPlayback(session.Scenario.Board.TickHz, session.Marks);
        playback.Play(simulated, session.RestartsS);
        var tally = new StopTally();
        tally.Compare(seed, session, simulated, playback);
        return tally;
    }

    public void Add(StopTally other)
    {
        Spins += other.Spins;
        Missed += other.Missed;
        False += other.False;
        Seen += other.Seen;
        StoppedRight += other.StoppedRight;
        Placed += other.Placed;
        Stated += other.Stated;
        Held += other.Held;
        Ranges += other.Ranges;
        WithinRange += other.WithinRange;
        Faults += other.Faults;
        Notes.AddRange(other.Notes);
    }

    private void Compare(int seed, StopScenario session, SimulatedSpin simulated, StopPlayback playback)
    {
        var left = playback.Runs();
        Faults += playback.Faults.Count;
        Notes.AddRange(playback.Faults.Select(f => $"{seed}: fault {f}"));
        foreach (SpinTruth truth in simulated.Spins.Where(StopScenario.IsRun))
        {
            Spins++;
            var marks = playback.Pulses.Select((p, i) => (p.Truth, Index: i))
                .Where(p => p.Truth.Origin == PulseOrigin.Mark && p.Truth.TimeS >= truth.LaunchS && p.Truth.TimeS <= truth.ToppleS).ToList();
            int last = marks[^1].Index;
            FoundRun? run = left.Find(r => r.Last >= marks[marks.Count / 2].Index && r.First <= marks[marks.Count / 2].Index);
            if (run is null)
            {
                Missed++;
                Notes.Add($"{seed}: missed");
                continue;
            }

            left.Remove(run);
            bool ends = run.Last >= last - (3 * session.Marks) && run.First <= marks[0].Index + (8 * session.Marks);
            if (!ends)
            {
                False++;
                Notes.Add($"{seed}: cut, marks {marks[0].Index}–{last}, found {run.First}–{run.Last} {run.End}");
            }

            Place(seed, session, simulated, truth, marks[^1].Truth, run, playback.Pulses[run.First]);
        }

        False += left.Count;
        Notes.AddRange(left.Select(r => $"{seed}: false {r.First}–{r.Last} {r.End}, {playback.Pulses[r.First].Truth.TimeS:F1}–{playback.Pulses[r.Last].Truth.TimeS:F1} s"));
    }

    // Where the last mark was truly the last, or pulses witness that the sensor saw on, the stated uncertainty must hold the end; where
    // the marks ceased before and nothing came after them, the stated range must.
    private void Place(
        int seed, StopScenario session, SimulatedSpin simulated, SpinTruth truth, SimulatedPulse lastMark, FoundRun run, BoardPulse first)
    {
        double fallS = truth.Plan.ToppleRpm > 0 ? truth.ToppleS : truth.StopS;
        double stopS = first.Truth.TimeS + run.Spin.StopS;
        double missedTurns = simulated.Motion.Turns(truth.ToppleS) - simulated.Motion.Turns(lastMark.TimeS);
        double turnS = 60 / simulated.Motion.SpeedRpm(lastMark.TimeS);
        bool seen = missedTurns < 1.2 / session.Marks && truth.Plan.ToppleRpm > 0;
        string Off() => string.Create(
            CultureInfo.InvariantCulture,
            $"{(stopS - fallS) / turnS:F2} turns off, u {run.Spin.UStopS / turnS:F2} turns, {missedTurns:F1} turns after last mark, fall seen {truth.Plan.FallSeenShare * truth.Plan.FallS:F2} s, {session.Marks} marks, {truth.Plan.ToppleRpm:F0} rpm, {run.End}{(run.Spin.IsWitnessed ? ", witnessed" : "")}{(run.Spin.IsSeen ? "" : ", forecast")}");
        if (seen || (run.Spin.IsWitnessed && run.Spin.IsSeen))
        {
            Stated++;
            bool held = Math.Abs(stopS - fallS) <= 2 * run.Spin.UStopS;
            Held += held ? 1 : 0;
            if (!held)
                Notes.Add($"{seed}: beyond 2 u, {Off()}");
        }
        else
        {
            Ranges++;
            bool within = fallS >= first.Truth.TimeS + run.Spin.LastMarkS && fallS <= first.Truth.TimeS + run.Spin.LatestStopS;
            WithinRange += within ? 1 : 0;
            if (!within)
                Notes.Add($"{seed}: outside its range by {fallS - first.Truth.TimeS - run.Spin.LatestStopS:F2} s at the end, {Off()}");
        }

        if (!seen)
            return;
        Seen++;
        StoppedRight += run.End == RunEnd.Stopped ? 1 : 0;
        if (run.End != RunEnd.Stopped)
            Notes.Add($"{seed}: {run.End} at {truth.Plan.ToppleRpm:F0} rpm");
        bool placed = Math.Abs(stopS - fallS) <= turnS;
        Placed += placed ? 1 : 0;
        if (!placed)
            Notes.Add($"{seed}: stop {Off()}");
    }
}
