using System.Text;

namespace Acquire.Acquisition.Tests;

/// <summary>A block that outlives the ring's buffer.</summary>
internal sealed record ReadBlock(SourceBlockKind Kind, long HostNs, byte[] Payload)
{
    internal string Text => Encoding.UTF8.GetString(Payload);

    internal void Decode(ISourceDecoder decoder, List<SourceEvent> events) => decoder.Decode(new SourceBlock(Kind, HostNs, Payload), events);
}
