using System.Runtime.Versioning;
using Acquire.Acquisition.Gpio;
using Acquire.Acquisition.Lines;
using Xunit;

namespace Acquire.Acquisition.Tests.Gpio;

/// <summary>A source on a GPIO line, whose descriptor a pipe stands in for; scripts/gpio-vm has it read a kernel's own.</summary>
[SupportedOSPlatform("linux")]
public sealed class GpioPulseSourceTests : PulseSourceContract, IDisposable
{
    private readonly Queue<LinePipe> _lines = new();
    private readonly List<string?> _labels = [];
    private readonly LinePipe _line = new();

    public GpioPulseSourceTests() => _lines.Enqueue(_line);

    public void Dispose() => _line.Dispose();

    protected override IPulseSource Create() => Source();

    protected override ISourceDecoder CreateDecoder() => SourceFormats.CreateDecoder("gpio-falling", 1);

    protected override void MakePulses() => _line.Fall(TimeProvider.System.MonotonicNs());

    [Fact]
    public void The_kernels_stamps_and_numbers_arrive_unchanged_and_a_gap_is_counted()
    {
        using GpioPulseSource source = Source();
        source.Start();
        long now = TimeProvider.System.MonotonicNs();
        _line.Write(LinePipe.Event(now - 3_000_001, 2, 1), LinePipe.Event(now - 2_000_002, 2, 2), LinePipe.Event(now - 1_000_003, 2, 6));
        var events = new List<SourceEvent>();
        ISourceDecoder decoder = CreateDecoder();
        var reader = new BlockReader(source.Blocks);
        while (decoder.Counts.Received < 3)
            reader.Next(LongMs).Decode(decoder, events);

        Assert.Equal([now - 3_000_001, now - 2_000_002, now - 1_000_003], events.Where(e => e.Kind == SourceEventKind.Pulse).Select(e => e.Pulse.Ticks));
        Assert.Equal(new SourceCounts(3, 0, 3, 0, 0, 0), decoder.Counts);
    }

    [Fact]
    public void More_events_than_the_kernel_keeps_come_through_in_one_go()
    {
        using GpioPulseSource source = Source();
        long now = TimeProvider.System.MonotonicNs();
        _line.Write([.. Enumerable.Range(1, 1024).Select(number => LinePipe.Event(now + number, 2, (uint)number))]);
        source.Start();
        var events = new List<SourceEvent>();
        ISourceDecoder decoder = CreateDecoder();
        var reader = new BlockReader(source.Blocks);
        while (decoder.Counts.Received < 1024)
            reader.Next(LongMs).Decode(decoder, events);

        Assert.Equal(new SourceCounts(1024, 0, 0, 0, 0, 0), decoder.Counts);
    }

    [Fact]
    public void A_line_whose_chip_was_removed_is_looked_for_by_the_chips_label_until_it_is_back()
    {
        using GpioPulseSource source = Source();
        source.Start();
        var reader = new BlockReader(source.Blocks);
        reader.Next(SourceBlockKind.LinkBack, LongMs);

        _line.HangUp();
        string lost = reader.Next(SourceBlockKind.LinkLost, LongMs).Text;
        Assert.Equal("Line 3 (mark) of GPIO chip gpiochip0 (bench) went away: its chip or driver was removed. It is looked for until it is back.", lost);
        Assert.Equal(LinkProblemKind.NotThere, source.Problem!.Kind);

        using var back = new LinePipe("Line 3 (mark) of GPIO chip gpiochip4 (bench)");
        lock (_lines)
            _lines.Enqueue(back);
        Assert.Equal("Line 3 (mark) of GPIO chip gpiochip4 (bench)", reader.Next(SourceBlockKind.LinkBack, LongMs).Text);
        back.Fall(TimeProvider.System.MonotonicNs());
        reader.Next(SourceBlockKind.Bytes, LongMs);
        Assert.Null(source.Problem);
        lock (_lines)
            Assert.Equal([null, .. Enumerable.Repeat("bench", _labels.Count - 1)], _labels);
    }

    [Fact]
    public void Half_an_event_is_counted_and_what_follows_is_read()
    {
        using GpioPulseSource source = Source();
        source.Start();
        var reader = new BlockReader(source.Blocks);
        reader.Next(SourceBlockKind.LinkBack, LongMs);
        _line.Write(LinePipe.Event(1, 2, 1), new byte[20]);
        var events = new List<SourceEvent>();
        ISourceDecoder decoder = CreateDecoder();
        reader.Next(LongMs).Decode(decoder, events);
        _line.Write(LinePipe.Event(2, 2, 2));
        reader.Next(LongMs).Decode(decoder, events);

        Assert.Equal(new SourceCounts(2, 1, 0, 0, 0, 0), decoder.Counts);
    }

    [Fact]
    public void A_line_that_cannot_be_had_ends_the_source_where_it_is_not_to_be_waited_for()
    {
        _lines.Clear();
        using GpioPulseSource source = Source(wait: false);
        source.Start();

        Assert.Equal("nothing here", new BlockReader(source.Blocks).Next(SourceBlockKind.LinkLost, LongMs).Text);
        source.Blocks.Wait(LongMs);
        Assert.Equal("nothing here", source.Problem!.Message);
    }

    [Fact]
    public void What_is_no_line_is_the_callers_bug() =>
        Assert.Throws<ArgumentException>(() => new GpioPulseSource(new GpioSettings { Line = "bench" }, false, TimeProvider.System));

    private GpioPulseSource Source(bool wait = true) =>
        new(new GpioSettings { Line = "bench:mark" }, wait, TimeProvider.System, null, Open);

    private GpioLine? Open(GpioSettings settings, string? label, TimeProvider time, out LinkProblem? problem)
    {
        lock (_lines)
        {
            _labels.Add(label);
            problem = _lines.Count > 0 ? null : new LinkProblem(LinkProblemKind.NotThere, "nothing here");
            return _lines.Count > 0 ? _lines.Dequeue().Line : null;
        }
    }
}
