using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;

namespace Acquire.Service.Tests.Capture;

/// <summary>The threads are real, the time by which they are judged is the test's.</summary>
public sealed class HealthThreadsTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-health-").FullName;
    private readonly FakeTimeProvider _time = new();
    private readonly HungSource _source = new();
    private readonly CancellationTokenSource _stop = new();
    private readonly CaptureSession _session;
    private readonly HealthThreads _threads;
    private readonly Thread _capture;

    public HealthThreadsTests()
    {
        var options = new CaptureOptions { Port = "invented", Library = _library };
        _session = CapturePipeline.Compose(options, _source, TimeProvider.System, NullLogger.Instance);
        _threads = new HealthThreads(_session, _source, _time);
        _capture = new Thread(() => _session.Run(_stop.Token));
        _capture.Start();
        Assert.True(_source.Hangs.Wait(TimeSpan.FromSeconds(20), TestContext.Current.CancellationToken));
        _threads.Look();
    }

    public void Dispose()
    {
        _stop.Cancel();
        _source.Dispose();
        _capture.Join();
        _stop.Dispose();
        Directory.Delete(_library, recursive: true);
    }

    [Fact]
    public void A_capture_that_hangs_in_a_write_to_the_port_is_known_by_its_silence_of_ten_seconds()
    {
        Pass(9.9);
        Assert.DoesNotContain(_threads.Look(), t => t.IsHung);
        Pass(0.2);
        ThreadLife hung = Assert.Single(_threads.Look(), t => t.IsHung);
        Assert.Equal("capture", hung.Name);
        Assert.Equal(10.1, hung.SilentS, 1e-6);
    }

    [Fact]
    public void A_capture_that_moves_again_is_well_again()
    {
        Pass(11);
        Assert.Contains(_threads.Look(), t => t.IsHung);
        long before = _session.Beat.Count;
        _source.LetGo();
        Assert.True(SpinWait.SpinUntil(() => _session.Beat.Count > before, TimeSpan.FromSeconds(20)));
        Assert.DoesNotContain(_threads.Look(), t => t.IsHung);
    }

    [Fact]
    public void A_reader_that_hangs_is_known_by_its_silence_of_twenty_seconds()
    {
        _source.LetGo();
        for (int i = 0; i < 4; i++)
        {
            long before = _session.Beat.Count;
            Assert.True(SpinWait.SpinUntil(() => _session.Beat.Count > before, TimeSpan.FromSeconds(20)));
            Assert.DoesNotContain(_threads.Look(), t => t.IsHung);
            _time.Advance(TimeSpan.FromSeconds(5.1));
        }

        Assert.Equal("reader", Assert.Single(_threads.Look(), t => t.IsHung && t.Name != "capture").Name);
    }

    [Fact]
    public void A_capture_that_is_ending_may_take_as_long_as_saving_takes()
    {
        _source.LetGo();
        _stop.Cancel();
        _capture.Join();
        Pass(1000);
        Assert.DoesNotContain(_threads.Look(), t => t.IsHung);
    }

    private void Pass(double seconds)
    {
        _source.ReaderBeat.Beat();
        _time.Advance(TimeSpan.FromSeconds(seconds));
    }
}
