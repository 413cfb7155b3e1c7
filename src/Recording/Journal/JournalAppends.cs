using System.Text.Json;

namespace Acquire.Recording;

/// <summary>Appends the entries of a journal. Each returns false where there was no room in memory.</summary>
public static class JournalAppends
{
    /// <summary>Appends that a journal starts here.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, JournalStart entry) => Append(journal, JournalEntryKind.Start, hostNs, entry);

    /// <summary>Appends that a run began.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, RunBegan entry) => Append(journal, JournalEntryKind.RunBegan, hostNs, entry);

    /// <summary>Appends that a run ended.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, RunEnded entry) => Append(journal, JournalEntryKind.RunEnded, hostNs, entry);

    /// <summary>Appends that a run is in the library.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, RunPackaged entry) => Append(journal, JournalEntryKind.RunPackaged, hostNs, entry);

    /// <summary>Appends that a run came to nothing.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, RunDismissed entry) => Append(journal, JournalEntryKind.RunDismissed, hostNs, entry);

    /// <summary>Appends wall-clock time.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, UtcAnchor entry) => Append(journal, JournalEntryKind.UtcAnchor, hostNs, entry);

    /// <summary>Appends a fit of the source's clock.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, ClockFitted entry) => Append(journal, JournalEntryKind.ClockFit, hostNs, entry);

    /// <summary>Appends a note.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, JournalNote entry) => Append(journal, JournalEntryKind.Note, hostNs, entry);

    /// <summary>Appends that a capture that was cut short goes on.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, CaptureResumed entry) => Append(journal, JournalEntryKind.CaptureResumed, hostNs, entry);

    /// <summary>Appends a look at a sensor of the air.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, AirLooked entry) => Append(journal, JournalEntryKind.AirLook, hostNs, entry);

    /// <summary>Appends that the capture was ended in order.</summary>
    public static bool TryAppend(this JournalWriter journal, long hostNs, CaptureEnded entry) => Append(journal, JournalEntryKind.CaptureEnded, hostNs, entry);

    private static bool Append<T>(JournalWriter journal, JournalEntryKind kind, long hostNs, T entry)
    {
        ArgumentNullException.ThrowIfNull(journal);
        return journal.TryAppend(kind, hostNs, JsonSerializer.SerializeToUtf8Bytes(entry, JournalJson.Of<T>()));
    }
}
