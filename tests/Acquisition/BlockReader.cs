using Xunit;

namespace Acquire.Acquisition.Tests;

/// <summary>Takes blocks out of a ring, waiting with a limit.</summary>
internal sealed class BlockReader(BlockRing ring)
{
    internal ReadBlock Next(int milliseconds)
    {
        long start = TimeProvider.System.GetTimestamp();
        SourceBlock block;
        while (!ring.TryRead(out block))
        {
            Assert.False(ring.IsFinished, "The source ended.");
            Assert.True(TimeProvider.System.GetElapsedTime(start).TotalMilliseconds < milliseconds, $"No block within {milliseconds} ms.");
            ring.Wait(50);
        }

        return new ReadBlock(block.Kind, block.HostNs, block.Payload.ToArray());
    }

    /// <summary>The next block of a kind; those before it are passed over.</summary>
    internal ReadBlock Next(SourceBlockKind kind, int milliseconds)
    {
        ReadBlock block;
        do
        {
            block = Next(milliseconds);
        }
        while (block.Kind != kind);
        return block;
    }

    internal List<ReadBlock> Rest()
    {
        var blocks = new List<ReadBlock>();
        while (ring.TryRead(out SourceBlock block))
            blocks.Add(new ReadBlock(block.Kind, block.HostNs, block.Payload.ToArray()));
        return blocks;
    }
}
