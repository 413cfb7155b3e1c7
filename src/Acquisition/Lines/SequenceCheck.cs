namespace Acquire.Acquisition.Lines;

/// <summary>Counts pulse lines that did not arrive from the gaps in their numbers, which go round at 256. Up to 255 lost in a row are
/// counted exactly; 256 are not seen.</summary>
internal sealed class SequenceCheck
{
    private const int Unknown = -1;

    /// <summary>The number that the next pulse should have; −1 where any may come.</summary>
    internal int Next { get; set; } = Unknown;

    /// <summary>Ticks of the latest pulse.</summary>
    internal long LatestTicks { get; set; } = long.MinValue;

    /// <summary>Any number may come next: the board started anew, or nobody listened.</summary>
    internal void Forget()
    {
        Next = Unknown;
        LatestTicks = long.MinValue;
    }

    /// <summary>Takes a pulse's number; gives how many were lost before it.</summary>
    internal int Take(byte sequence, long ticks)
    {
        int lost = Next == Unknown ? 0 : (sequence - Next) & 0xFF;
        // Pulse lines are in order among themselves. One that is behind by its number and no later by its ticks is a repeat or has
        // been overtaken: nothing was lost with it, and what follows goes on from where it was.
        if (lost >= 128 && ticks <= LatestTicks)
            return 0;
        Next = (sequence + 1) & 0xFF;
        LatestTicks = Math.Max(LatestTicks, ticks);
        return lost;
    }
}
