using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Runs;
using ScottPlot;

namespace Acquire.Service.Reports;

/// <summary>A finished run as a page in its folder. It is made of the run's files alone and may be made anew at any time; the run needs it for nothing.</summary>
internal static class RunReport
{
    private const double UsualFromRpm = 2000;
    private const double UsualToRpm = 500;
    private const double LeastRatio = 1.2;
    private const int MostPoints = 300;
    private const int MostEvents = 200;

    /// <summary>Writes the page into the run's folder: whole, or what was there stays.</summary>
    /// <returns>Its path.</returns>
    /// <exception cref="RunFormatException">A file of the run is missing or not as the format says.</exception>
    /// <exception cref="IOException">It cannot be written.</exception>
    public static string Write(string folder)
    {
        string file = Path.Combine(folder, RunCompanions.Report);
        string unfinished = Path.Combine(folder, RunCompanions.UnfinishedReport);
        try
        {
            Make(RunData.Read(folder)).Write(unfinished);
            File.Move(unfinished, file, overwrite: true);
        }
        finally
        {
            File.Delete(unfinished);
        }

        return file;
    }

    /// <summary>Writes the page where it can be.</summary>
    /// <returns>What went wrong, or null.</returns>
    public static string? TryWrite(string folder)
    {
        try
        {
            Write(folder);
            return null;
        }
        catch (Exception e)
        {
            // Whatever it is, the run is finished and whole without its page.
            return $"{Path.GetFileName(folder)}: {RunCompanions.Report} could not be written ({e.Message}); the run is whole without it, and acquire show RUN --report makes it anew";
        }
    }

    /// <summary>The page.</summary>
    internal static HtmlReport Make(RunData run)
    {
        RunDescriptor descriptor = run.Descriptor;
        var report = new HtmlReport($"{(descriptor.Setup.Top.Length > 0 ? descriptor.Setup.Top : "Spin")}, {descriptor.StartedAt.UtcDateTime.ToString("d MMMM yyyy HH:mm", CultureInfo.InvariantCulture)} UTC");
        report.Paragraph(Headline(descriptor));
        Speed(report, run);
        report.Section("Cautions");
        foreach (string caution in RunCautions.Of(descriptor)) report.Paragraph(caution);
        Losses(report, run);
        foreach ((string title, (string Label, string Value)[] facts) in RunText.Sections(descriptor, run.Environment).Where(s => s.Facts.Length > 0))
            report.Section(ChangeWords.Sentence(title)).Table(["", ""], facts.Select(f => (string[])[f.Label, f.Value]));
        report.Section("Events").Table([">time", "event", ""], run.Events.Take(MostEvents).Select(e => (string[])[Numbers.ClockTenths(e.TimeS), e.Event, e.Detail]));
        if (run.Events.Count > MostEvents) report.Paragraph(string.Create(CultureInfo.InvariantCulture, $"{run.Events.Count - MostEvents} more are in events.csv."));
        return report.Paragraph($"Made of the files of {run.Name}, which hold all of it; a later edit shows here once acquire show {run.Name} --report has made this page anew.");
    }

    /// <summary>What the run came to in a sentence.</summary>
    internal static string Headline(RunDescriptor run) => double.IsFinite(run.Result.SpinTimeS)
        ? $"Spun for {Numbers.ClockTenths(run.Result.SpinTimeS)} ({Numbers.Measured(run.Result.SpinTimeS, run.Result.USpinTimeS)} s ± {Numbers.Uncertainty(run.Result.USpinTimeS)} s, k = 1) from {Numbers.Measured(run.Result.PeakRpm, run.Result.UPeakRpm)} rpm; ended as {run.EndReason}."
        : $"No spin time is known; ended as {run.EndReason}.";

    /// <summary>Adds the picture of the speed.</summary>
    internal static void Speed(HtmlReport report, RunData run) => SpeedPlot.AddTo(report, run.Descriptor, Thinned(run));

    /// <summary>Adds how it slowed: bands, law and their picture.</summary>
    internal static void Losses(HtmlReport report, RunData run)
    {
        report.Section("How it slowed");
        try
        {
            if (Range(run) is not { } range || SpindownRun.Problem(run, range.FromRpm, range.ToRpm) is not null)
            {
                report.Paragraph("It was not seen over enough speeds to tell how it slowed.");
                return;
            }

            var spin = SpindownRun.Of(run, SpeedBands.Between(range.FromRpm, range.ToRpm), null);
            report.Paragraph(SpindownText.Headline(spin) + ".");
            using Plot plot = LossPlot.Make([spin]);
            report.Picture("Circles: the speed curve's own deceleration, bars its 95 %. Lines: the fitted law and its parts, bands their 95 %.", (plot, LossPlot.Rows));
            foreach (SpindownText.Part part in SpindownText.Parts(spin))
            {
                report.Section(ChangeWords.Sentence(part.Title));
                if (part.Rows.Count > 0) report.Table(part.Headings, part.Rows);
                foreach (string note in part.Notes) report.Paragraph(note);
            }
        }
        catch (RunFormatException e)
        {
            report.Paragraph("How it slowed cannot be told: " + e.Message);
        }
    }

    // The usual interval if it was passed, else the most that was.
    private static SpeedBand? Range(RunData run)
    {
        if (SpinSpan.Of(run.Speed, run.ReleaseS) is not { } span) return null;
        SpeedBand? best = span.HighestRpm >= UsualFromRpm && span.LowestRpm <= UsualToRpm ? span.Whole(UsualFromRpm, UsualToRpm) : span.Whole(span.HighestRpm, span.LowestRpm);
        if (best is not { } band) return null;
        SpeedBand whole = band is { FromRpm: UsualFromRpm, ToRpm: UsualToRpm } ? band : new SpeedBand(Math.Floor(band.FromRpm), Math.Ceiling(band.ToRpm));
        return whole.ToRpm > 0 && whole.FromRpm > LeastRatio * whole.ToRpm ? whole : null;
    }

    // Every so many points, and all about the release and at the ends of what is known.
    private static SpeedPoint[] Thinned(RunData run)
    {
        const double AboutReleaseS = 10;
        IReadOnlyList<SpeedPoint> points = run.Speed;
        int every = 1 + (points.Count / MostPoints);
        bool Known(int i) => i >= 0 && i < points.Count && double.IsFinite(points[i].Rpm);
        return [.. points.Where((_, i) => i % every == 0 || i == points.Count - 1 || Math.Abs(points[i].TimeS - run.ReleaseS) < AboutReleaseS || Known(i) != Known(i - 1) || Known(i) != Known(i + 1))];
    }
}
