namespace Acquire.Acquisition.Lines;

/// <summary>Makes pulses from samples of speed: the speed is taken to change evenly from one sample to the next, and a pulse is given at each
/// whole turn of the angle since the first sample. Samples that are further apart than a minute are not joined.</summary>
internal sealed class TurnIntegrator
{
    private const double NsPerSecond = 1e9;
    private const long LongestGapNs = 60_000_000_000;

    internal bool Any { get; private set; }

    internal long HostNs { get; private set; }

    internal double RevPerS { get; private set; }

    /// <summary>Part of a turn since the last pulse, 0 to 1.</summary>
    internal double Turns { get; private set; }

    /// <summary>What comes next is not joined to what came before.</summary>
    internal void Break() => (Any, Turns) = (false, 0);

    internal void Restore(bool any, long hostNs, double revPerS, double turns) =>
        (Any, HostNs, RevPerS, Turns) = (any, hostNs, revPerS, turns);

    /// <summary>Takes a sample; gives how many pulses it brought.</summary>
    internal int Add(double revPerS, long hostNs, List<SourceEvent> events)
    {
        int pulses = 0;
        if (Any && hostNs - HostNs > LongestGapNs)
            Break();
        double elapsedS = Any ? Math.Max(hostNs - HostNs, 0) / NsPerSecond : 0;
        double reached = Turns + ((RevPerS + revPerS) / 2 * elapsedS);
        for (; Any && pulses + 1 <= reached; pulses++)
        {
            double atS = TimeOf(pulses + 1 - Turns, revPerS - RevPerS, elapsedS);
            long atNs = HostNs + (long)(atS * NsPerSecond);
            events.Add(new SourceEvent(SourceEventKind.Pulse, new Pulse(atNs, 0, -1), hostNs, 0));
        }

        (Any, HostNs, RevPerS, Turns) = (true, hostNs, revPerS, Any ? reached - pulses : 0);
        return pulses;
    }

    // Smallest root of RevPerS·t + change/(2·elapsed)·t² = turns, in the form that does not cancel.
    private double TimeOf(double turns, double change, double elapsedS)
    {
        double under = (RevPerS * RevPerS) + (2 * change / elapsedS * turns);
        double timeS = 2 * turns / (RevPerS + Math.Sqrt(Math.Max(under, 0)));
        return Math.Min(timeS, elapsedS);
    }
}
