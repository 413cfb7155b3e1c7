using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>A run as the entries of a journal bound it.</summary>
/// <param name="Number">Its number in the journal.</param>
/// <param name="FirstPulse">Ordinal of its first pulse.</param>
/// <param name="LastPulse">Ordinal of its last pulse; <see cref="long.MaxValue"/> where the journal has no end of it.</param>
/// <param name="Reason">Why it ended; <see cref="EndReasons.Recovered"/> where the journal has no end of it.</param>
/// <param name="Plan">The row of a plan that it was begun for; null where it follows none.</param>
internal sealed record BoundRun(int Number, long FirstPulse, long LastPulse, string Reason, RunPlan? Plan = null);

/// <summary>The runs that a journal holds and that are not in the library yet.</summary>
/// <param name="Runs">The runs, in order.</param>
/// <param name="EndedInOrder">True where the capture closed the journal itself.</param>
/// <param name="DamagedBytes">Bytes in its middle that could not be read.</param>
/// <param name="TornBytes">Bytes of a last record that was cut short.</param>
/// <param name="IsEmpty">True where it holds no whole record.</param>
internal sealed record JournalRuns(IReadOnlyList<BoundRun> Runs, bool EndedInOrder, long DamagedBytes, long TornBytes, bool IsEmpty)
{
    /// <summary>Reads a journal's entries.</summary>
    public static JournalRuns Read(string journal)
    {
        var open = new SortedDictionary<int, BoundRun>();
        bool ended = false;
        bool empty = true;
        using var reader = new JournalReader(journal);
        while (reader.TryRead(out JournalRecord record))
        {
            empty = false;
            switch (record.Kind)
            {
                case JournalEntryKind.RunBegan:
                    RunBegan began = record.Entry<RunBegan>();
                    open[began.RunNumber] = new BoundRun(began.RunNumber, began.FirstPulse, long.MaxValue, EndReasons.Recovered, began.Plan);
                    break;
                case JournalEntryKind.RunEnded:
                    RunEnded end = record.Entry<RunEnded>();
                    if (open.TryGetValue(end.RunNumber, out BoundRun? run))
                        open[end.RunNumber] = run with { LastPulse = end.LastPulse, Reason = end.Reason };
                    break;
                case JournalEntryKind.RunDismissed:
                    open.Remove(record.Entry<RunDismissed>().RunNumber);
                    break;
                case JournalEntryKind.RunPackaged:
                    open.Remove(record.Entry<RunPackaged>().RunNumber);
                    break;
                case JournalEntryKind.CaptureEnded:
                    ended = true;
                    break;
            }
        }

        return new JournalRuns([.. open.Values], ended, reader.BytesSkipped, reader.TornTailBytes, empty);
    }
}
