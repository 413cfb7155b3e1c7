using Acquire.Acquisition;
using Acquire.Acquisition.Air;
using Acquire.Acquisition.Lines;
using Acquire.Service.Plans;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>The way of a pulse, put together.</summary>
public static class CapturePipeline
{
    /// <summary>Composes a capture: source → journal → decoder → marks → runs → packages. The only place where the parts meet.</summary>
    /// <param name="options">The settings, valid.</param>
    /// <param name="source">Where pulses come from.</param>
    /// <param name="time">The time, scaled where the source's is.</param>
    /// <param name="logger">The log.</param>
    /// <param name="report">Makes the page of a run's folder once the run is safe; none are made where null.</param>
    /// <param name="openAir">Opens a sensor of the air; on this computer's buses where null.</param>
    /// <param name="finish">Makes the package of a run and gives its folder; made in this process where null.</param>
    /// <exception cref="Recording.RunFormatException">The plan's sheet is none.</exception>
    public static CaptureSession Compose(
        CaptureOptions options, IPulseSource source, TimeProvider time, ILogger logger, Action<string, CancellationToken>? report = null, Func<AirSensorName, IAirSensor>? openAir = null,
        Func<UnsavedRun, string>? finish = null)
    {
        var settings = RunSettings.From(options);
        PlanSheet? sheet = options.Plan.Length > 0 ? PlanSheetReader.Read(options.Plan) : null;
        ResumedCapture? resumed = ResumedCapture.Find(options, source, time, sheet?.Id ?? "");
        PlanFollower? plan = sheet is null ? null : PlanFollower.Begin(sheet, options, resumed, logger);
        LiveChain live = resumed?.Chain ?? new LiveChain(SourceFormats.CreateDecoder(options.SourceFormat(), options.TickHz), settings);
        var journals = new CaptureJournals(options, source, time, live.Decoder, resumed, plan);
        if (resumed is not null)
            logger.LogWarning("A capture that was cut short goes on in the same run: {Journal}", Path.GetFileName(resumed.Journal));
        var finishing = new FinishingThread(finish ?? new RunFinisher(settings, options.Library, logger).Finish, logger);
        foreach (BoundRun run in resumed?.Ended ?? [])
            finishing.Add(new EndedRun(journals.Current, run.Number, run.FirstPulse, run.LastPulse, run.Reason, MayBeSaved: true));
        AirWatch? air = options.Air.Length == 0 ? null
            : new AirWatch(AirSensorName.List(options.Air)!.Select(name => new AirReader(name, openAir ?? AirSensors.Open, time)), logger);
        return new CaptureSession(options, source, time, live, journals, finishing, report is null ? null : new ReportingThread(report, logger), logger, plan, air);
    }
}
