using System.Runtime.InteropServices;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Acquire.Service.Display;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Logging;
using Serilog;

namespace Acquire.Service.Page;

/// <summary>The host of the page where no capture runs beside it: the library only.</summary>
/// <param name="surroundings">Where it runs.</param>
/// <param name="configuration">All layers of settings.</param>
/// <param name="page">The page's settings.</param>
internal sealed class LibraryHost(Surroundings surroundings, IConfigurationRoot configuration, PageSettings page)
{
    /// <summary>Serves until ended.</summary>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public int Run()
    {
        using Serilog.Core.Logger log = new LoggerConfiguration().ReadFrom.Configuration(configuration, CaptureHost.Sinks)
            .WriteTo.Sink(new PlainSink(surroundings.Error, ServiceManager.ReadsErrors(surroundings))).CreateLogger();
        var builder = new HostApplicationBuilder(new HostApplicationBuilderSettings { DisableDefaults = true, ApplicationName = "acquire", ContentRootPath = surroundings.CurrentFolder });
        builder.Services.AddSerilog(log);
        builder.Services.Configure<ConsoleLifetimeOptions>(o => o.SuppressStatusMessages = true);
        ServiceManager.Join(builder.Services, surroundings);
        using IHost host = builder.Build();
        IHostApplicationLifetime lifetime = host.Services.GetRequiredService<IHostApplicationLifetime>();
        using PosixSignalRegistration hangUp = PosixSignalRegistration.Create(PosixSignal.SIGHUP, raised =>
        {
            raised.Cancel = true;
            lifetime.StopApplication();
        });
        ILoggerFactory loggers = host.Services.GetRequiredService<ILoggerFactory>();
        using var watch = new HealthWatch(
            () => true, host.Services.GetService<ISystemdNotifier>(), ServiceManager.WatchdogLimit(surroundings), surroundings.Time, loggers.CreateLogger("Acquire.Health"));
        using var served = PageHost.Start(page, null, surroundings.Time, loggers);
        Task failed = served.Listening.ContinueWith(_ => lifetime.StopApplication(), CancellationToken.None, TaskContinuationOptions.OnlyOnFaulted, TaskScheduler.Default);
        host.RunAsync(surroundings.Stop).GetAwaiter().GetResult();
        return served.Listening.IsFaulted ? ExitCode.Failed : ExitCode.EndedByUser;
    }
}
