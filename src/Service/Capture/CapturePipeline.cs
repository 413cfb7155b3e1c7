using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>The way of a pulse, put together.</summary>
public static class CapturePipeline
{
    /// <summary>Composes a capture: source → journal → decoder → marks → runs → packages. The only place where the parts meet.</summary>
    public static CaptureSession Compose(CaptureOptions options, IPulseSource source, TimeProvider time, ILogger logger)
    {
        ISourceDecoder decoder = SourceFormats.CreateDecoder(options.Format, options.TickHz);
        var settings = RunSettings.From(options);
        var live = new LiveChain(decoder, settings);
        var journals = new CaptureJournals(options, source, time, decoder);
        var finishing = new FinishingThread(new RunFinisher(settings, options.Library), logger);
        return new CaptureSession(options, source, time, live, journals, finishing, logger);
    }
}
