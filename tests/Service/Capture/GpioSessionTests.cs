using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

public sealed class GpioSessionTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-gpio-").FullName;

    private readonly SimulatedSpin _spin = new(new SpinScenario
    {
        Spins = [new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] }],
    });

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Edges_of_a_line_become_a_run_whose_times_are_the_kernels_stamps(bool widths)
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        using var source = new EdgeSource(_spin, widths, time);
        var options = new CaptureOptions { Gpio = "bench:mark", GpioWidths = widths, Library = _library, TimeScale = 50, Once = true };
        CaptureOutcome outcome = CapturePipeline.Compose(options, source, time, NullLogger.Instance).Run(TestContext.Current.CancellationToken);

        Assert.Empty(RunVerifier.VerifyLibrary(_library));
        RunDescriptor run = RunPackageReader.ReadDescriptor(Assert.Single(outcome.Runs));
        Assert.Equal(("gpio", 1e9), (run.Source.Kind, run.Source.TickHz));
        Assert.Equal((0, 0), (run.Clock.RatePpm, run.Clock.URatePpm));
        Assert.Equal(0, run.Budget!.ClockS);
        Assert.Equal(_spin.Pulses().Count(), run.Counts.Marks);
        Assert.Equal(_spin.Spins[0].SpinTimeS, run.Result.SpinTimeS, 0.3);
        RunPulses read = RunPackageReader.ReadPulses(outcome.Runs[0]);
        Assert.Equal(_spin.Pulses().Select(p => source.StampNs(p.TimeS)), read.Ticks);
        Assert.Equal(widths, read.WidthS[0] > 0);

        // The start is the first stamp by the wall clock as it stood when the journal was begun, and not when the stamp was read.
        DateTimeOffset first = time.GetUtcNow().AddTicks((read.Ticks[0] - time.MonotonicNs()) / 100);
        Assert.Equal(0, (run.StartedAt - first).TotalSeconds, 0.5);
    }

    [Theory]
    [InlineData("falling", false)]
    [InlineData("falling", true)]
    public void A_capture_of_a_line_that_was_cut_short_goes_on_or_is_recovered(string edge, bool widths)
    {
        var options = new CaptureOptions { Gpio = "bench:mark", GpioEdge = edge, GpioWidths = widths, Library = _library, Top = "cut short" };
        using var source = new EdgeSource(_spin, widths, TimeProvider.System);
        int pulses = Leave(options, source);

        Assert.Null(ResumedCapture.Find(new CaptureOptions { Gpio = "bench:mark", GpioEdge = "rising", Library = _library, Top = "cut short" }, source, TimeProvider.System));
        ResumedCapture resumed = ResumedCapture.Find(options, source, TimeProvider.System)!;
        Assert.Equal(RunPhase.Spinning, resumed.Chain.Phase);
        Assert.Equal(pulses, resumed.Chain.Pulses);
        Assert.Equal(1, resumed.Runs);

        string folder = Assert.Single(new Recovery(_library, TimeProvider.System, NullLogger.Instance).Run().Runs);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.Equal(("gpio", EndReasons.Recovered, 0, 0), (run.Source.Kind, run.EndReason, run.Clock.RatePpm, run.Clock.URatePpm));
        Assert.Equal(pulses, run.Counts.Marks);
    }

    // A journal as a killed capture leaves it, whose last edge is of now.
    private static int Leave(CaptureOptions options, EdgeSource source)
    {
        var chain = new LiveChain(Acquire.Acquisition.Lines.SourceFormats.CreateDecoder(options.SourceFormat(), 1), RunSettings.From(options));
        var journals = new CaptureJournals(options, source, TimeProvider.System, chain.Decoder);
        var found = new List<RunTransition>();
        (double TimeS, byte[] Bytes)[] half = [.. source.Edges()];
        half = half[..(half.Length / 2 / 2 * 2)];
        source.Begin(TimeProvider.System.MonotonicNs() - (long)(half[^1].TimeS * 1e9) - 1_000_000);
        Give(new SourceBlock(SourceBlockKind.LinkBack, source.StampNs(0), "bench"u8));
        foreach ((double timeS, byte[] bytes) in source.Edges().Take(half.Length))
            Give(new SourceBlock(SourceBlockKind.Bytes, source.StampNs(timeS) + 50_000, bytes));
        journals.Dispose();
        return half.Length / (options.GpioWidths ? 2 : 1);

        void Give(in SourceBlock block)
        {
            journals.Current.Writer.TryAppend(block);
            chain.Take(block, found);
            foreach (RunTransition t in found.Where(t => t.Kind == RunTransitionKind.Began))
                journals.Current.Writer.TryAppend(block.HostNs, journals.Began(journals.Current, 1, t.FirstPulse));
            found.Clear();
        }
    }

    /// <summary>A line that shows a spin's edges as the source of a GPIO line tells them (gpio-records.md), then falls silent and ends.</summary>
    private sealed class EdgeSource(SimulatedSpin spin, bool widths, TimeProvider time) : IPulseSource
    {
        private readonly CancellationTokenSource _stop = new();
        private long _startNs;

        public string Kind => "gpio";

        public string Detail => "bench:mark";

        public BlockRing Blocks { get; } = new();

        public void Begin(long startNs) => _startNs = startNs;

        public long StampNs(double timeS) => _startNs + (long)(timeS * 1e9);

        public IEnumerable<(double TimeS, byte[] Bytes)> Edges()
        {
            uint number = 0;
            foreach (SimulatedPulse pulse in spin.Pulses())
            {
                yield return (pulse.TimeS, Record(pulse.TimeS, 2, ++number));
                if (widths)
                    yield return (pulse.TimeS + pulse.WidthS, Record(pulse.TimeS + pulse.WidthS, 1, ++number));
            }
        }

        public void Start() => new Thread(Play) { IsBackground = true }.Start();

        public void Ask(ReadOnlySpan<byte> question) => throw new InvalidOperationException("A line is asked nothing.");

        public void Dispose() => _stop.Cancel();

        private byte[] Record(double timeS, uint kind, uint number) =>
            [.. BitConverter.GetBytes(StampNs(timeS)), .. BitConverter.GetBytes(kind), .. BitConverter.GetBytes(number)];

        private void Play()
        {
            Begin(time.MonotonicNs());
            Blocks.TryWrite(SourceBlockKind.LinkBack, _startNs, "bench"u8);
            double lastS = 0;
            foreach ((double timeS, byte[] bytes) in Edges())
            {
                while (time.MonotonicNs() < StampNs(timeS) && !_stop.IsCancellationRequested)
                    _stop.Token.WaitHandle.WaitOne(1);
                Blocks.TryWrite(SourceBlockKind.Bytes, time.MonotonicNs(), bytes);
                lastS = timeS;
            }

            while (time.MonotonicNs() < StampNs(lastS + 400) && !_stop.IsCancellationRequested)
                _stop.Token.WaitHandle.WaitOne(5);
            Blocks.Complete();
        }
    }
}
