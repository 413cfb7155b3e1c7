namespace Acquire.Acquisition.Lines;

/// <summary>Follows the totals that a board sends once a second. What the numbers of the pulse lines cannot tell, that 256 or more went by while
/// the link was away, the totals do.</summary>
internal sealed class StatusCheck
{
    private const int Round = 256;
    private bool _any;
    private uint _pulses;
    private ushort _dropped;
    private long _counted;
    private bool _wasAway;

    /// <summary>Totals of the last status; pulses received or known to be lost since; whether the link was away since.</summary>
    internal readonly record struct StatusTotals(bool Any, uint Pulses, ushort Dropped, long Counted = 0, bool WasAway = false);

    internal StatusTotals State
    {
        get => new(_any, _pulses, _dropped, _counted, _wasAway);
        set => (_any, _pulses, _dropped, _counted, _wasAway) = value;
    }

    /// <summary>The board started anew: its totals count from nothing.</summary>
    internal void Restart() => (_any, _pulses, _dropped, _counted, _wasAway) = (true, 0, 0, 0, false);

    /// <summary>Counts a pulse and those lost before it.</summary>
    internal void Count(int lost) => _counted += 1 + lost;

    /// <summary>The link went or came; <paramref name="isSameBoard"/> says whether what follows can be held against what went before.</summary>
    internal void LinkTurned(bool isSameBoard) => _wasAway = isSameBoard;

    /// <summary>True where the total of pulses fell, which only a restart explains. A wrap at 2³² is no fall.</summary>
    internal bool Fell(uint pulses) => _any && unchecked((int)(pulses - _pulses)) < 0;

    /// <summary>Takes the totals; gives how many pulses the board dropped since the last ones, and by how many whole rounds of 256 more were lost on
    /// the line than was counted. What it dropped before it was first heard is not this capture's.</summary>
    internal (int Dropped, long LostUnseen) Take(uint pulses, ushort dropped)
    {
        int added = _any ? unchecked((ushort)(dropped - _dropped)) : 0;
        long sent = unchecked(pulses - _pulses) - (long)added;

        // Some pulses wait in the board's queue at either status, so that the difference is a little off a whole number of rounds.
        long unseen = _any && _wasAway ? Math.Max(0, (sent - _counted + (Round / 2)) / Round * Round) : 0;
        (_any, _pulses, _dropped, _counted, _wasAway) = (true, pulses, dropped, 0, false);
        return (added, unseen);
    }
}
