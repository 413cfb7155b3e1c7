using Acquire.Acquisition;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Page;
using Acquire.Service.Tests;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Page.Tests;

/// <summary>A capture of simulated spins, fifty times as fast as the clock on the wall, with the page beside it.</summary>
internal sealed class BesideCapture : IDisposable
{
    private const double Scale = 50;
    private readonly ScaledTimeProvider _time = new(TimeProvider.System, Scale);
    private readonly SimulatedPulseSource _source;
    private readonly CancellationTokenSource _end = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
    private readonly Thread _thread;
    private CaptureOutcome? _outcome;

    public BesideCapture(Bench bench, IReadOnlyList<SpinPlan> spins, double restAfterS = 60, Action<RouteGroupBuilder>? more = null, string plan = "")
    {
        TimeProvider time = _time;
        _source = SimulatedPulseSource.Paced(new SimulatedSpin(new SpinScenario { Spins = [.. spins], RestAfterS = restAfterS }), time);
        Options = new CaptureOptions { Port = "simulated", Library = bench.Library, TimeScale = Scale, Top = "from the settings", Marks = 1, Plan = plan };
        Session = CapturePipeline.Compose(Options, _source, time, NullLogger.Instance);
        _thread = new Thread(() => _outcome = Session.Run(_end.Token)) { IsBackground = true };
        Served = new Served(bench, new PageCapture(
            () => Session.Live, () => new CaptureStatus { Running = true, Well = true, Problems = [], Library = bench.Library }, Session.Orders, () => Session.Plan, Session.Report, Options, time), more: more);
    }

    /// <summary>Seconds of the source's time since the last pulse.</summary>
    public double QuietS => (_time.MonotonicNs() - Session.Live.LastPulseNs) * 1e-9;

    public CaptureOptions Options { get; }

    public CaptureSession Session { get; }

    public Served Served { get; }

    /// <summary>A spin of about half a minute: strong losses.</summary>
    public static SpinPlan ShortSpin(double restS) => new()
    {
        RestBeforeS = restS,
        ToppleRpm = 400,
        Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)],
    };

    /// <summary>A spin of several minutes down to where any spin may end, so that it does not matter how late somebody takes it for a run.</summary>
    public static SpinPlan LongSpin(double restS) => ShortSpin(restS) with { ToppleRpm = 200, Loss = [new LossTerm(0, 0.3), new LossTerm(1, 0.3)] };

    /// <summary>A spin that whoever looks at it is not too late for.</summary>
    public static SpinPlan HourSpin(double restS) => ShortSpin(restS) with { ToppleRpm = 200, Loss = [new LossTerm(0, 0.03), new LossTerm(1, 0.03)] };

    public void Start() => _thread.Start();

    /// <summary>Waits until all that was simulated is over, or ends the capture.</summary>
    public CaptureOutcome Outcome(bool end = false)
    {
        if (end) _end.Cancel();
        Assert.True(_thread.Join(120_000), "the capture does not end");
        return _outcome!;
    }

    public static RunDescriptor Descriptor(string folder) => RunPackageReader.ReadDescriptor(folder);

    public void Dispose()
    {
        _end.Cancel();
        if (_thread.IsAlive) _thread.Join();
        Served.Dispose();
        _source.Dispose();
        _end.Dispose();
    }
}
