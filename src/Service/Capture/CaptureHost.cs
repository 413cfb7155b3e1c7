using System.Runtime.InteropServices;
using Acquire.Acquisition;
using Acquire.Service.Commands;
using Acquire.Service.Display;
using Acquire.Service.Forecasting;
using Acquire.Service.Page;
using Acquire.Service.Reports;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Logging;
using Serilog;
using Serilog.Settings.Configuration;
using ILogger = Microsoft.Extensions.Logging.ILogger;
using Spectre.Console;

namespace Acquire.Service.Capture;

/// <summary>The host of one capture: log, display, worker and the signals that end it.</summary>
/// <param name="surroundings">Where it runs.</param>
/// <param name="configuration">All layers of settings; section <c>Serilog</c> sets the log up.</param>
/// <param name="options">The settings, valid.</param>
/// <param name="makeSource">Makes the source of pulses.</param>
/// <param name="page">The page to be served beside the capture; null for none.</param>
internal sealed class CaptureHost(
    Surroundings surroundings, IConfigurationRoot configuration, CaptureOptions options,
    Func<CaptureOptions, TimeProvider, IPulseSource> makeSource, PageSettings? page = null)
{
    // Named, since to look for them in the program's folder takes time and memory that a capture then holds for hours.
    internal static readonly ConfigurationReaderOptions Sinks = new(typeof(Log).Assembly, typeof(FileLoggerConfigurationExtensions).Assembly);
    private readonly string _command = page is null ? "capture" : "serve";
    private readonly LastErrorSink _errors = new();
    private PortWatch? _port;
    private Func<Task<RecoveryReport>, CaptureHealth>? _makeHealth;
    private CaptureSession? _session;
    private Func<LiveForecaster>? _makeForecaster;
    private Func<LiveState>? _live;
    private Func<LiveState, LiveForecast?> _forecast = _ => null;

    /// <summary>Captures until done, failed or ended by the user.</summary>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public int Run()
    {
        ProcessMemory.ShareArena();
        using LibraryLock? held = LibraryLock.TryTake(options.Library, out string holder);
        if (held is null)
        {
            surroundings.Error.WriteLine($"acquire {_command}: {options.Library} is in use by {holder}: end that first, or name another library.");
            return ExitCode.Failed;
        }

        bool onScreen = Terminals.CanMove(surroundings.ErrorIsTerminal, surroundings);
        IAnsiConsole console = Terminals.Make(surroundings.Error, surroundings.ErrorIsTerminal, surroundings);
        using Serilog.Core.Logger log = MakeLog(onScreen ? console : null);
        TimeProvider time = surroundings.Time;
        TimeProvider sourceTime = options.TimeScale == 1 ? time : new ScaledTimeProvider(time, options.TimeScale);

        HostApplicationBuilder builder = MakeBuilder(log);
        builder.Services.AddSingleton(services => MakeWorker(services, onScreen ? console : null, sourceTime));
        builder.Services.AddHostedService(services => services.GetRequiredService<CaptureWorker>());
        using IHost host = builder.Build();

        // Beside the capture: a spin that is under way must not wait until an old one is packaged.
        ILoggerFactory loggers = host.Services.GetRequiredService<ILoggerFactory>();
        CaptureWorker worker = host.Services.GetRequiredService<CaptureWorker>();
        ILogger recoveryLog = loggers.CreateLogger("Acquire.Recovery");
        var recovery = new Recovery(options.Library, time, recoveryLog, _session?.Journal, new FinishProcess(options.Library, recoveryLog).Finish);

        // A terminal that is closed ends the capture as Ctrl-C does, which a service's manager does not see to.
        IHostApplicationLifetime lifetime = host.Services.GetRequiredService<IHostApplicationLifetime>();
        using PosixSignalRegistration hangUp = EndOn(PosixSignal.SIGHUP, lifetime);
        using PosixSignalRegistration interrupt = EndOn(PosixSignal.SIGINT, lifetime);
        Task<RecoveryReport> recovering = Task.Run(() => Recover(recovery));
        CaptureHealth health = _makeHealth!(recovering);
        ILogger healthLog = loggers.CreateLogger("Acquire.Health");
        using StatusServer? status = StatusServer.TryStart(options.Library, health.Report, healthLog);
        using var watch = new HealthWatch(
            health.Look, host.Services.GetService<ISystemdNotifier>(), ServiceManager.WatchdogLimit(surroundings), time, healthLog);
        using LiveForecaster forecaster = _makeForecaster!();
        Volatile.Write(ref _forecast, forecaster.Latest);
        using PageHost? served = page is null ? null : PageHost.Start(page, ForPage(health, sourceTime), time, loggers);
        host.RunAsync(surroundings.Stop).GetAwaiter().GetResult();
        foreach (string problem in recovering.GetAwaiter().GetResult().Problems) surroundings.Error.WriteLine($"acquire {_command}: " + problem);
        return Report(worker);
    }

    private PageCapture ForPage(CaptureHealth health, TimeProvider sourceTime)
    {
        CaptureSession session = _session!;
        return new PageCapture(_live!, health.Report, session.Orders, () => session.Plan, session.Report, options, sourceTime);
    }

    private RecoveryReport Recover(Recovery recovery)
    {
        RecoveryReport report = recovery.Run();
        foreach (string run in report.Runs) _session?.Report(run);
        return report;
    }

    private static PosixSignalRegistration EndOn(PosixSignal signal, IHostApplicationLifetime lifetime) => PosixSignalRegistration.Create(signal, raised =>
    {
        raised.Cancel = true;
        lifetime.StopApplication();
    });

    private CaptureWorker MakeWorker(IServiceProvider services, IAnsiConsole? screen, TimeProvider sourceTime)
    {
        ILoggerFactory loggers = services.GetRequiredService<ILoggerFactory>();
        IHostApplicationLifetime lifetime = services.GetRequiredService<IHostApplicationLifetime>();
        ILogger display = loggers.CreateLogger("Acquire.Display");
        IPulseSource source = makeSource(options, sourceTime);
        ILogger log = loggers.CreateLogger("Acquire.Capture");
        CaptureSession session = CapturePipeline.Compose(options, source, sourceTime, log, ReportProcess.Write, finish: new FinishProcess(options.Library, log).Finish);
        _session = session;
        var view = new LiveView(options.Library, LiveView.UsualQuietS * Math.Max(1, options.TimeScale));
        _port = new PortWatch(source);
        _makeForecaster = () => new LiveForecaster(session, (spin, stop) => ForecastProcess.Of(options.Library, spin, stop), surroundings.Time, loggers.CreateLogger("Acquire.Forecast"));
        LiveState Live()
        {
            LiveState live = _port.AddTo(session.Live);
            return live with { Forecast = Volatile.Read(ref _forecast)(live) };
        }

        _live = Live;
        _makeHealth = recovery => new CaptureHealth(
            options.Library, Live, new HealthThreads(session, source, surroundings.Time), recovery, () => _errors.Last, surroundings.Time, sourceTime);
        async Task Show(CancellationToken end)
        {
            Task watched = _port.RunAsync(lifetime.StopApplication, surroundings.Time, end);
            if (screen is null) await new LiveLog(display).RunAsync(Live, surroundings.Time, end);
            else await new LiveScreen(screen, view, display).RunAsync(Live, sourceTime, surroundings.Time, end);
            await watched;
        }

        return new CaptureWorker(stop => RunSession(session, source, stop), Show, lifetime);
    }

    private static CaptureOutcome RunSession(CaptureSession session, IPulseSource source, CancellationToken stop)
    {
        using (source) return session.Run(stop);
    }

    private Serilog.Core.Logger MakeLog(IAnsiConsole? screen)
    {
        LoggerConfiguration log = new LoggerConfiguration().ReadFrom.Configuration(configuration, Sinks).WriteTo.Sink(_errors);
        if (options.LogFile.Length > 0)
            LogToFile(log);
        return screen is null
            ? log.WriteTo.Sink(new PlainSink(surroundings.Error, ServiceManager.ReadsErrors(surroundings))).CreateLogger()
            : log.WriteTo.Sink(new ScreenSink(screen)).CreateLogger();
    }

    private void LogToFile(LoggerConfiguration log) => log.WriteTo.File(
        PlainSink.Lines, options.LogFile, fileSizeLimitBytes: (long)(options.LogFileMb * 1e6), rollOnFileSizeLimit: true, retainedFileCountLimit: options.LogFiles);

    private HostApplicationBuilder MakeBuilder(Serilog.ILogger log)
    {
        var builder = new HostApplicationBuilder(new HostApplicationBuilderSettings
        {
            DisableDefaults = true,
            ApplicationName = "acquire",
            ContentRootPath = surroundings.CurrentFolder,
        });
        builder.Configuration.AddConfiguration(configuration);
        builder.Services.AddSerilog(log);
        builder.Services.Configure<ConsoleLifetimeOptions>(o => o.SuppressStatusMessages = true);
        ServiceManager.Join(builder.Services, surroundings);

        // Saving a long run on a slow card takes as long as it takes.
        builder.Services.Configure<HostOptions>(o => o.ShutdownTimeout = Timeout.InfiniteTimeSpan);
        return builder;
    }

    private int Report(CaptureWorker worker)
    {
        if (_port?.Refusal(options.Wait || worker.EndedByUser) is { } refusal)
        {
            surroundings.Error.WriteLine($"acquire {_command}: " + refusal.Message);
            return PortWatch.IsWrongCall(refusal.Kind) ? ExitCode.WrongCall : ExitCode.Failed;
        }

        if (worker.Fault is { } fault)
        {
            surroundings.Error.WriteLine($"acquire {_command}: failed: " + fault.Message);
            return ExitCode.Failed;
        }

        CaptureOutcome outcome = worker.Outcome ?? throw new InvalidOperationException("The capture ended without an outcome.");
        foreach (string run in outcome.Runs) surroundings.Out.WriteLine(run);
        surroundings.Out.Flush();
        if (outcome.Failed) return ExitCode.Failed;
        return worker.EndedByUser ? ExitCode.EndedByUser : ExitCode.Done;
    }
}
