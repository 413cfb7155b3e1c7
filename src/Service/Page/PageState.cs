using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>Everything that the page's endpoints work with.</summary>
internal sealed class PageState : IDisposable
{
    private readonly ILogger _logger;

    /// <summary>Begins to look at capture and library.</summary>
    /// <param name="settings">The settings.</param>
    /// <param name="capture">The capture beside it; null for none.</param>
    /// <param name="time">The time.</param>
    /// <param name="loggers">The log.</param>
    /// <param name="ending">Ends streams that would go on for ever.</param>
    public PageState(PageSettings settings, PageCapture? capture, TimeProvider time, ILoggerFactory loggers, CancellationToken ending)
    {
        Ending = ending;
        _logger = loggers.CreateLogger("Acquire.Page");
        (Settings, Capture, Time) = (settings, capture, time);
        Hub = new LiveHub(capture, settings.Library, time, _logger);
        Stream = new LiveStream(Hub, time);
        Index = new RunIndex(settings.Library, time, _logger, version => Hub.Tell("library", new LibraryChanged(version)));
        Commands = new CommandRuns(settings.Library, _logger);
        Next = capture is null ? null : new NextSetup(capture, settings.Library, _logger);
    }

    /// <summary>Ends streams that would go on for ever.</summary>
    public CancellationToken Ending { get; }

    public PageSettings Settings { get; }

    public PageCapture? Capture { get; }

    public TimeProvider Time { get; }

    public LiveHub Hub { get; }

    public LiveStream Stream { get; }

    public RunIndex Index { get; }

    public CommandRuns Commands { get; }

    /// <summary>Null where no capture runs beside the page.</summary>
    public NextSetup? Next { get; }

    /// <summary>Edits come one after the other, so that those who wait hold no threads.</summary>
    public SemaphoreSlim Editing { get; } = new(1);

    /// <summary>Few read whole tables at once.</summary>
    public SemaphoreSlim Reading { get; } = new(4);

    /// <summary>A run by its name; names are only ever looked up here.</summary>
    public IndexedRun? Run(string name) => Index.Now.ByName.GetValueOrDefault(name);

    /// <summary>Earlier set-ups, the last first.</summary>
    public IEnumerable<RunSetup> Setups() => Index.Now.Runs.Reverse().Select(r => r.Descriptor?.Setup).OfType<RunSetup>();

    /// <inheritdoc/>
    public void Dispose()
    {
        Index.Dispose();
        Hub.Dispose();
        Commands.Dispose();
        Editing.Dispose();
        Reading.Dispose();
    }
}
