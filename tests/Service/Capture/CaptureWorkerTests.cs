using Acquire.Service.Capture;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;

namespace Acquire.Service.Tests.Capture;

public sealed class CaptureWorkerTests
{
    private static readonly CaptureOutcome Saved = new(["a run"], Failed: false);

    [Fact]
    public async Task When_the_capture_ends_the_host_ends_and_the_display_is_told()
    {
        bool told = false;
        CaptureWorker worker = await Run(
            _ => Saved, async end => { await Task.Delay(-1, end).ContinueWith(_ => { }, TaskScheduler.Default); told = true; }, CancellationToken.None);
        Assert.Same(Saved, worker.Outcome);
        Assert.False(worker.EndedByUser);
        Assert.True(told);
    }

    [Fact]
    public async Task A_capture_that_is_told_to_stop_is_waited_for_until_its_run_is_saved()
    {
        using var stop = new CancellationTokenSource(TimeSpan.FromMilliseconds(50));
        using var saving = new ManualResetEventSlim();
        CaptureWorker worker = await Run(
            token =>
            {
                token.WaitHandle.WaitOne();
                saving.Wait(300, CancellationToken.None);
                return Saved;
            },
            _ => Task.CompletedTask,
            stop.Token);
        Assert.Same(Saved, worker.Outcome);
        Assert.True(worker.EndedByUser);
    }

    [Fact]
    public async Task What_the_capture_throws_is_kept_and_ends_the_host()
    {
        var fault = new IOException("disk full");
        CaptureWorker worker = await Run(_ => throw fault, _ => Task.CompletedTask, CancellationToken.None);
        Assert.Same(fault, worker.Fault);
        Assert.Null(worker.Outcome);
    }

    [Fact]
    public async Task The_capture_has_a_thread_of_its_own()
    {
        string? name = null;
        await Run(_ => { name = Thread.CurrentThread.Name; return Saved; }, _ => Task.CompletedTask, CancellationToken.None);
        Assert.Equal("capture", name);
    }

    private static async Task<CaptureWorker> Run(
        Func<CancellationToken, CaptureOutcome> capture, Func<CancellationToken, Task> show, CancellationToken stop)
    {
        var builder = new HostApplicationBuilder(new HostApplicationBuilderSettings { DisableDefaults = true });
        builder.Services.AddSingleton(s => new CaptureWorker(capture, show, s.GetRequiredService<IHostApplicationLifetime>()));
        builder.Services.AddHostedService(s => s.GetRequiredService<CaptureWorker>());
        using IHost host = builder.Build();
        CaptureWorker worker = host.Services.GetRequiredService<CaptureWorker>();
        await host.RunAsync(stop);
        return worker;
    }
}
