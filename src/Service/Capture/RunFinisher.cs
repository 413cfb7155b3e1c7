using System.Globalization;
using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Display;
using Acquire.Service.Plans;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Makes a package of a run that a journal holds: decodes its bytes again, judges all of it at once, estimates, writes.</summary>
/// <param name="settings">What the run was captured with.</param>
/// <param name="library">Where the package goes.</param>
/// <param name="logger">Where it is said that the marks look wrong.</param>
internal sealed class RunFinisher(RunSettings settings, string library, ILogger logger)
{
    /// <summary>With the settings that a journal tells.</summary>
    /// <exception cref="RunFormatException">It does not begin as a journal does.</exception>
    public static RunFinisher Of(string journal, string library, ILogger logger) => new(RunSettings.From(JournaledRun.ReadStart(journal)), library, logger);

    /// <summary>The folder of a run that is in the library already, though its journal does not say so; else null. A program that is cut short after
    /// the package appeared and before it is noted leaves that.</summary>
    public string? Saved(string journal, long firstPulse)
    {
        const double SameMs = 1.5; // a descriptor tells milliseconds
        DateTimeOffset startedAt = JournaledRun.Read(journal, firstPulse, firstPulse).StartedAt;
        return RunLibrary.List(library)
            .FirstOrDefault(r => r.Descriptor is { } d && Math.Abs((d.StartedAt - startedAt).TotalMilliseconds) < SameMs)?.Folder;
    }

    /// <summary>Makes the package, unless the run is in the library already.</summary>
    /// <returns>The run's folder.</returns>
    /// <exception cref="RunFormatException">It has fewer than four marks.</exception>
    /// <exception cref="IOException">The disk did not take it.</exception>
    public string Finish(UnsavedRun run) => (run.MayBeSaved ? Saved(run.Journal, run.FirstPulse) : null)
        ?? Finish(JournaledRun.Read(run.Journal, run.FirstPulse, run.LastPulse), run.Journal, run.Reason);

    /// <summary>Makes the package of a run that is in memory.</summary>
    /// <param name="run">The run.</param>
    /// <param name="origin">The file that it is from, for messages.</param>
    /// <param name="reason">One of <see cref="EndReasons"/>.</param>
    /// <returns>The run's folder.</returns>
    /// <exception cref="RunFormatException">It has fewer than four marks.</exception>
    public string Finish(JournaledRun run, string origin, string reason)
    {
        (double ratePpm, double uRatePpm) = settings.Rate(run.Clock);
        double secondsPerTick = 1 / (run.TickHz * (1 + (ratePpm * 1e-6)));
        JudgedRun judged = GapBridge.Settle(
            RunJudge.Judge(run.Pulses, settings.Tracker(run.TickHz)), secondsPerTick, settings.Marks);
        MarkSeries marks = MarkSeries.From(judged.Pulses, secondsPerTick);
        if (marks.Count < 4)
            throw new RunFormatException(origin, "", $"{marks.Count} marks in the run", "four or more");
        SpinEstimate spin = SpinEstimator.Estimate(marks, settings.Marks, settings.GridS);
        SpinEnd end = SpinEnd.Place(judged, secondsPerTick, settings.Marks, settings.Rules(run.TickHz).MayEndBelow(spin.PeakRpm / 60));
        bool forecast = IsForecast(end, reason);
        if (forecast || (reason == EndReasons.Stopped && end.IsSeen))
            spin = spin.EndingWith(end);
        spin = spin.WithClock(uRatePpm);
        JournaledAir air = JournaledAir.Of(run.Air, run.Start.AirByHand, run.FirstHostNs, spin.StopS);
        RunDescriptor descriptor = Describe(run, judged, spin, reason, forecast) with
        {
            Stop = reason == EndReasons.Stopped ? Seen(end) : null,
            Wobble = spin.Wobble is { } w ? new RunWobble(w.ConstantPerS2, w.UConstantPerS2) : null,
            Plan = run.Plan,
            Air = air.From,
        };
        descriptor = descriptor with { Spoilt = SpoiltRun.Why(run.Plan, descriptor, spin.Speed) };
        string folder = RunPackageWriter.Write(library, new FinishedRun
        {
            Descriptor = descriptor,
            Pulses = judged.Pulses,
            SecondsPerTick = secondsPerTick,
            Speed = spin.Speed,
            Wobble = spin.Wobble,
            Environment = air.Points,
            Events = Events(run, judged, spin, secondsPerTick, descriptor, forecast ? end : null),
        });
        if (RunWords.MarksLookWrong(descriptor) is { Length: > 0 } wrong)
            logger.LogWarning("{Run}: {Wrong}", Path.GetFileName(folder), wrong);
        return folder;
    }

    // Marks ceased at a speed at which a body still stands: its end is told by how it slowed, if it must have come while marks were waited
    // for. Otherwise the body may spin yet, and the last mark is all that is known.
    private bool IsForecast(SpinEnd end, string reason) =>
        !end.IsSeen && (reason is EndReasons.Stopped or EndReasons.SignalLost) && end.StopS + (2 * end.UStopS) < end.LastMarkS + settings.LostWaitS;

    private RunDescriptor Describe(JournaledRun run, JudgedRun judged, SpinEstimate spin, string reason, bool forecast)
    {
        double spinTime = spin.StopS - spin.ReleaseS;
        (double ratePpm, double uRatePpm) = settings.Rate(run.Clock);
        double byClock = spinTime * uRatePpm * 1e-6;

        // Of the stop what it adds to the others: the intervals of an even spread and a bell curve do not add up by squares.
        double byStop = Math.Sqrt(Math.Max(0, (spin.USpinTimeS * spin.USpinTimeS) - (byClock * byClock) - (spin.UReleaseS * spin.UReleaseS)));
        var budget = new RunBudget(byClock, spin.UReleaseS, byStop);
        return new RunDescriptor
        {
            Software = ProgramVersion.Software,
            StartedAt = run.StartedAt,
            EndReason = reason,
            Setup = run.Setup,
            Source = new RunSource(
                run.Start.Source.Kind,
                run.BoardName.Length > 0 ? $"{run.BoardName} on {run.Start.Source.Detail}" : run.Start.Source.Detail,
                run.TickHz, settings.Marks, judged.MarkOffsets),
            Clock = new RunClock(ratePpm, uRatePpm, HostClock(run)) { StartCorrectedS = run.StartCorrectedS },
            Counts = new RunCounts(
                judged.Pulses.Count, judged.Marks, judged.Pulses.Count - judged.Marks, judged.Missed, run.Counts.BadLines,
                run.Counts.LostOnLine, run.Counts.DroppedByBoard, spin.Gaps.Count + (forecast || reason == EndReasons.SignalLost ? 1 : 0))
            {
                MarksSeen = judged.MarksSeen,
            },
            Result = new RunResult(
                spin.PeakRpm, spin.UPeakRpm, spin.ReleaseS, spin.StopS, spinTime,
                budget.TogetherS, spin.LastRpm),
            Budget = budget,
        };
    }

    private static RunStop Seen(SpinEnd end) => new(end.IsWitnessed, end.LastMarkS)
    {
        LatestS = !end.IsWitnessed && double.IsFinite(end.LatestStopS) ? end.LatestStopS : null,
    };

    private static string HostClock(JournaledRun run) =>
        run.HostClock is HostSynchronisation.Synchronised or HostSynchronisation.Unsynchronised ? run.HostClock : HostSynchronisation.Unknown;

    private static List<RunEvent> Events(
        JournaledRun run, JudgedRun judged, SpinEstimate spin, double secondsPerTick, RunDescriptor descriptor, SpinEnd? forecast)
    {
        long origin = judged.Pulses[0].Ticks;
        var events = new List<RunEvent>
        {
            new(0, RunEventNames.Launch, ""),
            new(spin.ReleaseS, RunEventNames.Release, Text($"{spin.PeakRpm:F1} rpm")),
        };
        if (RunWords.MarksLookWrong(descriptor) is { Length: > 0 } wrong)
            events.Add(new RunEvent(spin.ReleaseS, RunEventNames.MarksLookWrong, wrong));
        foreach ((double fromS, double toS) in spin.Gaps)
        {
            Bridge? bridge = judged.Bridges.Where(b => Math.Abs(((b.ToTicks - origin) * secondsPerTick) - toS) < 1e-6)
                .Select(b => (Bridge?)b).FirstOrDefault();
            events.Add(new RunEvent(fromS, RunEventNames.SignalLost, ""));
            events.Add(new RunEvent(toS, RunEventNames.SignalBack, bridge is { } b
                ? Text($"{b.Turns:F1} turns bridged, standard uncertainty {b.UTurns:F2}")
                : ""));
        }

        foreach ((SourceEventKind kind, long hostNs, string detail) in run.Happenings)
            events.Add(new RunEvent((hostNs - run.FirstHostNs) * 1e-9, Name(kind), detail));
        foreach ((string name, long hostNs, string detail) in run.Notes)
            events.Add(new RunEvent((hostNs - run.FirstHostNs) * 1e-9, name, detail));
        if (run.StartCorrectedS is { } corrected)
            events.Add(new RunEvent(Math.Clamp((run.CorrectedAtNs - run.FirstHostNs) * 1e-9, 0, spin.StopS), RunEventNames.ClockSet, Text($"the start was moved by {corrected:F1} s")));
        string reason = descriptor.EndReason;
        string unseen = RunWords.EndUnseen(descriptor.Stop);
        if (forecast is { } end)
        {
            events.Add(new RunEvent(end.LastMarkS, RunEventNames.SignalLost, Text($"{end.LastTurnsPerS * 60:F1} rpm")));
            events.Add(new RunEvent(end.StopS, RunEventNames.Stop, Text($"unseen, forecast from how it slowed, standard uncertainty {end.UStopS:F1} s")
                + (unseen.Length > 0 ? "; " + unseen : "")));
            return [.. events.OrderBy(e => e.TimeS)];
        }

        events.Add(new RunEvent(spin.StopS, reason == EndReasons.SignalLost ? RunEventNames.SignalLost : RunEventNames.Stop, unseen.Length > 0 ? unseen : reason));
        return [.. events.OrderBy(e => e.TimeS)];
    }

    private static string Name(SourceEventKind kind) => kind switch
    {
        SourceEventKind.LinkLost => RunEventNames.PortLost,
        SourceEventKind.LinkBack => RunEventNames.PortBack,
        SourceEventKind.BoardRestarted => RunEventNames.BoardRestarted,
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
