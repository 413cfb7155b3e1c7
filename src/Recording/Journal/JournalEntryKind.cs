namespace Acquire.Recording;

/// <summary>What a record of a journal holds. 1 to 4 are a source's blocks and keep the numbers of
/// <see cref="Acquire.Acquisition.SourceBlockKind"/>; from 16 on the payload is JSON.</summary>
public enum JournalEntryKind : byte
{
    /// <summary>Bytes as they came from the source in one read.</summary>
    Bytes = 1,

    /// <summary>Bytes that the host sent to the source.</summary>
    Asked = 2,

    /// <summary>The link went away; UTF-8 text.</summary>
    LinkLost = 3,

    /// <summary>The link is there (again); UTF-8 text.</summary>
    LinkBack = 4,

    /// <summary>The first record: <see cref="JournalStart"/>.</summary>
    Start = 16,

    /// <summary>A run began: <see cref="Recording.RunBegan"/>.</summary>
    RunBegan = 17,

    /// <summary>A run ended: <see cref="Recording.RunEnded"/>.</summary>
    RunEnded = 18,

    /// <summary>A run is in the library: <see cref="Recording.RunPackaged"/>.</summary>
    RunPackaged = 19,

    /// <summary>Wall-clock time against the monotonic clock: <see cref="Recording.UtcAnchor"/>.</summary>
    UtcAnchor = 20,

    /// <summary>The source's clock was fitted to the host's: <see cref="Recording.ClockFitted"/>.</summary>
    ClockFit = 21,

    /// <summary>Anything worth keeping: <see cref="JournalNote"/>.</summary>
    Note = 22,

    /// <summary>The capture was ended in order: <see cref="Recording.CaptureEnded"/>.</summary>
    CaptureEnded = 23,

    /// <summary>A run that began came to nothing: <see cref="Recording.RunDismissed"/>.</summary>
    RunDismissed = 24,

    /// <summary>A capture that was cut short goes on: <see cref="Recording.CaptureResumed"/>.</summary>
    CaptureResumed = 25,

    /// <summary>A look at a sensor of the air: <see cref="Recording.AirLooked"/>.</summary>
    AirLook = 26,
}
