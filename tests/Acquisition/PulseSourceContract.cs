using Acquire.Acquisition.Tests.Serial;
using Xunit;

namespace Acquire.Acquisition.Tests;

/// <summary>What any source of pulses has to do. Derive, and say how one is made and made to see something.</summary>
public abstract class PulseSourceContract
{
    protected const int LongMs = 10_000;

    /// <summary>Makes a source, ready to be started, whose board, line or scenario exists.</summary>
    protected abstract IPulseSource Create();

    /// <summary>The decoder for what it delivers.</summary>
    protected abstract ISourceDecoder CreateDecoder();

    /// <summary>Makes the source started last see at least one pulse, where that needs doing.</summary>
    protected abstract void MakePulses();

    [Fact]
    public void It_names_itself()
    {
        using IPulseSource source = Create();

        Assert.Contains(source.Kind, new[] { "serial", "gpio", "simulation" });
        Assert.NotEmpty(source.Detail);
    }

    [Fact]
    public void It_says_that_the_link_is_there_before_anything_else_and_stamps_never_fall()
    {
        using IPulseSource source = Create();
        source.Start();
        MakePulses();
        var reader = new BlockReader(source.Blocks);

        ReadBlock first = reader.Next(LongMs);
        Assert.Equal(SourceBlockKind.LinkBack, first.Kind);
        Assert.NotEmpty(first.Text);
        ReadBlock second = reader.Next(LongMs);
        Assert.Equal(SourceBlockKind.Bytes, second.Kind);
        Assert.True(second.HostNs >= first.HostNs);
    }

    [Fact]
    public void What_it_delivers_decodes_to_pulses()
    {
        using IPulseSource source = Create();
        ISourceDecoder decoder = CreateDecoder();
        source.Start();
        MakePulses();
        var reader = new BlockReader(source.Blocks);
        var events = new List<SourceEvent>();

        while (!events.Any(said => said.Kind == SourceEventKind.Pulse))
            reader.Next(LongMs).Decode(decoder, events);

        Assert.True(decoder.Counts.Received > 0);
    }

    [Fact]
    public void Disposing_ends_the_blocks_and_may_be_repeated()
    {
        IPulseSource source = Create();
        source.Start();
        MakePulses();
        _ = new BlockReader(source.Blocks).Next(LongMs);

        Beside.Within(LongMs, source.Dispose);
        Beside.Within(LongMs, source.Dispose);

        while (source.Blocks.TryRead(out _))
        {
        }

        Assert.True(source.Blocks.IsFinished);
    }

    [Fact]
    public void Disposing_before_the_start_ends_the_blocks()
    {
        IPulseSource source = Create();

        Beside.Within(LongMs, source.Dispose);

        Assert.True(source.Blocks.IsFinished);
    }

    [Fact]
    public void Starting_twice_is_refused()
    {
        using IPulseSource source = Create();
        source.Start();

        Assert.Throws<InvalidOperationException>(source.Start);
    }

    [Fact]
    public void Asking_before_the_start_does_nothing()
    {
        using IPulseSource source = Create();

        source.Ask("?\n"u8);

        Assert.False(source.Blocks.TryRead(out _));
    }

    [Fact]
    public void Asking_after_the_end_does_nothing()
    {
        IPulseSource source = Create();
        source.Start();
        source.Dispose();

        source.Ask("?\n"u8);

        Assert.DoesNotContain(new BlockReader(source.Blocks).Rest(), block => block.Kind == SourceBlockKind.Asked);
    }
}
