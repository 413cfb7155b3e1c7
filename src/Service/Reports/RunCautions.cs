using System.Globalization;
using Acquire.Acquisition.Clock;
using Acquire.Recording;
using Acquire.Service.Display;

namespace Acquire.Service.Reports;

/// <summary>What a reader of a run is to be careful of.</summary>
internal static class RunCautions
{
    private const double ManyMissed = 0.01;

    /// <summary>A sentence for each; at last the one of bodies at speed.</summary>
    public static IEnumerable<string> Of(RunDescriptor run)
    {
        RunCounts counts = run.Counts;
        if (RunWords.MarksLookWrong(run) is { Length: > 0 } marks) yield return ChangeWords.Sentence(marks) + ": every speed is off by their ratio.";
        if (End(run) is { Length: > 0 } end) yield return end;
        if (RunWords.EndUnseen(run.Stop) is { Length: > 0 } unseen) yield return ChangeWords.Sentence(unseen) + ".";
        if (counts.Gaps > 0) yield return Text($"The signal was lost {counts.Gaps} {(counts.Gaps == 1 ? "time" : "times")}: no speed is stated there, and none is invented.");
        if (counts.Marks > 0 && counts.Missed > ManyMissed * counts.Marks) yield return Text($"{counts.Missed:N0} marks passed unseen, {100.0 * counts.Missed / (counts.Marks + counts.Missed):F1} %: look after aim and mark.");
        if (counts.BadLines + counts.LostOnLine + counts.DroppedByBoard > 0)
            yield return Text($"Lost or spoilt before they were here: {counts.LostOnLine:N0} pulses on the line, {counts.DroppedByBoard:N0} by the board, {counts.BadLines:N0} lines that made no sense.");
        if (run.Clock.HostClock != HostSynchronisation.Synchronised)
            yield return "The computer's clock was not known to be right: trust the length of the spin to its stated uncertainty, not the date and time of its start.";
        if (counts.Received == 0) yield return "Made of given speeds and not of pulses: no mark was counted, and uncertainties are no better than what was given.";
        yield return "A body at speed is a thrown part in waiting: eye protection, a screen, no cracked bodies, faces and hands out of the plane of rotation. Local codes come first.";
    }

    private static string End(RunDescriptor run) => run.EndReason switch
    {
        EndReasons.Operator => "The operator ended it: the spin time is what was seen until then.",
        EndReasons.SignalLost => "The signal was lost and did not come back: the end was not seen.",
        EndReasons.SourceLost => "The source was lost: the end was not seen.",
        EndReasons.Recovered => "The capture was cut short and this was recovered: it ends where the record ends.",
        _ => "",
    };

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
