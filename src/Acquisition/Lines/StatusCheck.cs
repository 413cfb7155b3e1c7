namespace Acquire.Acquisition.Lines;

/// <summary>Follows the totals that a board sends once a second.</summary>
internal sealed class StatusCheck
{
    private bool _any;
    private uint _pulses;
    private ushort _dropped;

    internal readonly record struct StatusTotals(bool Any, uint Pulses, ushort Dropped);

    internal StatusTotals State
    {
        get => new(_any, _pulses, _dropped);
        set => (_any, _pulses, _dropped) = value;
    }

    /// <summary>The board started anew: its totals count from nothing.</summary>
    internal void Restart() => (_any, _pulses, _dropped) = (true, 0, 0);

    /// <summary>True where the total of pulses fell, which only a restart explains. A wrap at 2³² is no fall.</summary>
    internal bool Fell(uint pulses) => _any && unchecked((int)(pulses - _pulses)) < 0;

    /// <summary>Takes the totals; gives how many pulses the board dropped since the last ones. What it dropped before it was first
    /// heard is not this capture's.</summary>
    internal int Take(uint pulses, ushort dropped)
    {
        int added = _any ? unchecked((ushort)(dropped - _dropped)) : 0;
        (_any, _pulses, _dropped) = (true, pulses, dropped);
        return added;
    }
}
