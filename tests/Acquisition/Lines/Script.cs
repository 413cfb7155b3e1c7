using System.Text;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>Gives a decoder blocks and keeps what it says.</summary>
internal sealed class Script(ISourceDecoder decoder)
{
    internal List<SourceEvent> Events { get; } = [];

    internal ISourceDecoder Decoder { get; } = decoder;

    internal IEnumerable<SourceEvent> Pulses => Events.Where(said => said.Kind == SourceEventKind.Pulse);

    internal IEnumerable<long> PulseTicks => Pulses.Select(said => said.Pulse.Ticks);

    internal Script Bytes(double atS, string text) => Give(SourceBlockKind.Bytes, atS, text);

    internal Script Asked(double atS, string text) => Give(SourceBlockKind.Asked, atS, text);

    internal Script LinkLost(double atS) => Give(SourceBlockKind.LinkLost, atS, "gone");

    internal Script LinkBack(double atS) => Give(SourceBlockKind.LinkBack, atS, "back");

    internal Script Give(SourceBlockKind kind, double atS, string text)
    {
        Give(new SourceBlock(kind, Ns(atS), Encoding.Latin1.GetBytes(text)));
        return this;
    }

    internal void Give(in SourceBlock block) => Decoder.Decode(block, Events);

    internal int Count(SourceEventKind kind) => Events.Count(said => said.Kind == kind);

    // From 1,000 s on, so that no moment is the clock's zero.
    internal static long Ns(double atS) => (long)Math.Round((1000 + atS) * 1e9);
}
