using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;

namespace Acquire.Service.Import;

/// <summary>A run found in a file's pulses.</summary>
/// <param name="First">Index of its first pulse.</param>
/// <param name="Last">Index of its last.</param>
/// <param name="Reason">One of <see cref="EndReasons"/>.</param>
internal readonly record struct FoundRun(int First, int Last, string Reason);

/// <summary>Finds the runs in a file's pulses as a capture finds them, with the same tracker and detector.</summary>
internal static class ImportedPulses
{
    /// <summary>The counter that imported times become: nanoseconds.</summary>
    public const double TickHz = 1e9;

    private const long Second = (long)TickHz;

    /// <summary>The runs, in order; none where the pulses show no launch and no spin.</summary>
    public static List<FoundRun> Runs(IReadOnlyList<Pulse> pulses, RunSettings settings)
    {
        var tracker = new MarkTracker(settings.Tracker(TickHz));
        RunRules rules = settings.Rules(TickHz);
        var detector = new RunDetector(rules);
        var judged = new List<JudgedPulse>();
        var found = new List<RunTransition>();
        var runs = new List<FoundRun>();
        double longestWaitS = Math.Max(rules.LostWaitS, rules.UnseenWaitS) + 60;
        for (int i = 0; i < pulses.Count; i++)
        {
            if (i > 0)
                Wait(detector, pulses[i - 1].Ticks, pulses[i].Ticks, longestWaitS, found);
            Keep(found, tracker, runs);
            detector.Hear(pulses[i].Ticks);
            judged.Clear();
            tracker.Add(pulses[i], judged);
            foreach (JudgedPulse pulse in judged)
                detector.See(pulse, tracker, found);
            Keep(found, tracker, runs);
        }

        // The file's end is no sign that a body at speed was lost from sight: nothing was recorded any more.
        int before = runs.Count;
        if (pulses.Count > 0)
            Wait(detector, pulses[^1].Ticks, pulses[^1].Ticks + (long)(longestWaitS * 2 * TickHz), longestWaitS * 2, found);
        Keep(found, tracker, runs);
        if (runs.Count > before && runs[^1].Reason == EndReasons.SignalLost)
            runs[^1] = runs[^1] with { Reason = EndReasons.SourceLost };
        return runs;
    }

    // Second by second, as a capture's clock goes on while no pulse comes.
    private static void Wait(RunDetector detector, long fromTicks, long toTicks, double longestS, List<RunTransition> found)
    {
        long last = Math.Min(toTicks, fromTicks + (long)(longestS * TickHz));
        for (long now = fromTicks + Second; now < last; now += Second)
            detector.PassTime(now, linkUp: true, found);
    }

    private static void Keep(List<RunTransition> found, MarkTracker tracker, List<FoundRun> runs)
    {
        foreach (RunTransition t in found)
        {
            if (t.Kind == RunTransitionKind.Ended)
                runs.Add(new FoundRun((int)t.FirstPulse, (int)t.LastPulse, Reason(t.End)));
        }

        if (found.Count > 0 && found[^1].Kind is RunTransitionKind.Ended or RunTransitionKind.Dismissed)
            tracker.Forget();
        found.Clear();
    }

    private static string Reason(RunEnd end) => end switch
    {
        RunEnd.Stopped => EndReasons.Stopped,
        RunEnd.Operator => EndReasons.Operator,
        RunEnd.SourceLost => EndReasons.SourceLost,
        _ => EndReasons.SignalLost,
    };
}
