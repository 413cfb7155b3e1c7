using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Display;
using ScottPlot;
using ScottPlot.Plottables;

namespace Acquire.Service.Plots;

/// <summary>Draws a run: its speed against time, and below it how fast it slowed at each speed.</summary>
public static class SpeedPlot
{
    private const int SpeedRows = 400;
    private const int DecelerationRows = 280;
    private const int Bands = 60;
    private const int FewestPoints = 10;
    private const double FinestRpm = 1; // with one decimal
    private const int MostDots = 3000;

    /// <summary>Writes the plot as .png or .svg, by the file's ending.</summary>
    /// <exception cref="ArgumentException">The file ends otherwise.</exception>
    public static void Write(string file, RunDescriptor run, IReadOnlyList<SpeedPoint> points)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(run);
        ArgumentNullException.ThrowIfNull(points);
        PlotFonts.Use();
        using Plot speed = Speed(run, points);
        using Plot? deceleration = Deceleration(run, points);
        PlotFile.Write(file, deceleration is null ? [(speed, SpeedRows)] : [(speed, SpeedRows), (deceleration, DecelerationRows)]);
    }

    /// <summary>Adds the picture to a page.</summary>
    internal static void AddTo(Reports.HtmlReport report, RunDescriptor run, IReadOnlyList<SpeedPoint> points)
    {
        PlotFonts.Use();
        using Plot speed = Speed(run, points);
        using Plot? deceleration = Deceleration(run, points);
        report.Picture(
            deceleration is null ? "Speed against time; the band is 95 %." : "Speed against time, the band is 95 %; below it how fast it slowed at each speed.",
            deceleration is null ? [(speed, SpeedRows)] : [(speed, SpeedRows), (deceleration, DecelerationRows)]);
    }

    /// <summary>True for a file that a plot can be written to.</summary>
    public static bool IsPlotFile(string file) => PlotFile.IsPlotFile(file);

    private static Plot Speed(RunDescriptor run, IReadOnlyList<SpeedPoint> points)
    {
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(Title(run));
        foreach (List<SpeedPoint> piece in Pieces(points))
        {
            double[] minutes = [.. piece.Select(p => p.TimeS / 60)];
            FillY band = plot.Add.FillY(
                minutes,
                [.. piece.Select(p => Math.Max(0, p.Rpm - (PlotLook.Coverage * Sure(p.URpm))))],
                [.. piece.Select(p => p.Rpm + (PlotLook.Coverage * Sure(p.URpm)))]);
            PlotLook.Band(band);
            PlotLook.Curve(plot.Add.ScatterLine(minutes, [.. piece.Select(p => p.Rpm)]));
        }

        double top = points.Where(p => double.IsFinite(p.Rpm)).Select(p => p.Rpm).DefaultIfEmpty(1).Max();
        double end = Math.Max(points.Count > 0 ? points[^1].TimeS : 1, double.IsFinite(run.Result.StopS) ? run.Result.StopS : 0) / 60;
        plot.Axes.SetLimits(-0.01 * end, 1.03 * end, 0, 1.12 * top);
        Moment(plot, run.Result.ReleaseS, $"release, {Numbers.Measured(run.Result.PeakRpm, Math.Max(run.Result.UPeakRpm, FinestRpm))} rpm", top, Alignment.MiddleLeft);
        Moment(plot, run.Result.StopS, $"{EndWord(run.EndReason)} after {Numbers.ClockTenths(run.Result.SpinTimeS)}", top, Alignment.MiddleRight);
        plot.XLabel("time since the first pulse / min");
        plot.YLabel("speed / rpm");
        return plot;
    }

    /// <summary>A thin line at a moment of the run and what it is.</summary>
    private static void Moment(Plot plot, double timeS, string words, double top, Alignment side)
    {
        if (!double.IsFinite(timeS)) return;
        PlotLook.Moment(plot.Add.VerticalLine(timeS / 60));
        Text text = plot.Add.Text(words, timeS / 60, 1.07 * top);
        PlotLook.Words(text, side);
    }

    private static Plot? Deceleration(RunDescriptor run, IReadOnlyList<SpeedPoint> points)
    {
        double releaseS = double.IsFinite(run.Result.ReleaseS) ? run.Result.ReleaseS : double.NegativeInfinity;
        SpeedPoint[] free = [.. points.Where(p => p.TimeS > releaseS && double.IsFinite(p.Rpm) && double.IsFinite(p.DecelRpmPerS))];
        if (free.Length < FewestPoints) return null;
        Plot plot = PlotLook.Make(topMargin: 14);
        double top = free.Max(p => p.Rpm);
        SpeedPoint[] dots = [.. free.Where((_, i) => i % (1 + (free.Length / MostDots)) == 0)];
        PlotLook.Dots(plot.Add.ScatterPoints(dots.Select(p => p.Rpm).ToArray(), dots.Select(p => p.DecelRpmPerS).ToArray()));
        SpeedPoint[] bands = BandMeans(free, top);
        foreach (List<SpeedPoint> piece in Pieces(bands))
            PlotLook.Curve(plot.Add.ScatterLine(piece.Select(p => p.Rpm).ToArray(), piece.Select(p => p.DecelRpmPerS).ToArray()));

        // A few wild points must not squeeze the rest.
        double high = free.Select(p => p.DecelRpmPerS).Order().ElementAt((int)(0.99 * (free.Length - 1)));
        plot.Axes.SetLimits(0, 1.03 * top, 0, 1.15 * Math.Max(high, bands.Max(p => double.IsFinite(p.Rpm) ? p.DecelRpmPerS : 0)));
        plot.XLabel("speed / rpm");
        plot.YLabel("deceleration / (rpm/s)");
        return plot;
    }

    /// <summary>The mean deceleration in each of equal bands of speed, weighted by its certainty; NaN where a band has no points.</summary>
    private static SpeedPoint[] BandMeans(SpeedPoint[] points, double top)
    {
        ILookup<int, SpeedPoint> byBand = points.ToLookup(p => Math.Clamp((int)(p.Rpm / top * Bands), 0, Bands - 1));
        var means = new SpeedPoint[Bands];
        for (int i = 0; i < Bands; i++)
        {
            double[] weights = [.. byBand[i].Select(p => p.UDecelRpmPerS > 0 ? 1 / (p.UDecelRpmPerS * p.UDecelRpmPerS) : 0)];
            double total = weights.Sum();
            double Mean(Func<SpeedPoint, double> value) => !(total > 0) ? double.NaN : byBand[i].Zip(weights, (p, w) => w * value(p)).Sum() / total;
            means[i] = new(double.NaN, Mean(p => p.Rpm), double.NaN, Mean(p => p.DecelRpmPerS), double.NaN);
        }

        return means;
    }

    private static string Title(RunDescriptor run)
    {
        string top = run.Setup.Top.Length == 0 ? "unnamed top" : run.Setup.Top;
        return top + ", " + run.StartedAt.UtcDateTime.ToString("d MMMM yyyy HH:mm", CultureInfo.InvariantCulture) + " UTC";
    }

    private static string EndWord(string reason) => reason switch
    {
        EndReasons.Stopped => "stop",
        EndReasons.SignalLost => "signal lost",
        EndReasons.SourceLost => "source lost",
        EndReasons.Operator => "ended by the operator",
        _ => "end",
    };

    private static double Sure(double u) => double.IsFinite(u) ? u : 0;

    /// <summary>The stretches between gaps; nothing is drawn across a gap.</summary>
    internal static List<List<SpeedPoint>> Pieces(IReadOnlyList<SpeedPoint> points)
    {
        var pieces = new List<List<SpeedPoint>>();
        bool open = false;
        foreach (SpeedPoint point in points)
        {
            bool known = double.IsFinite(point.Rpm);
            if (known && !open) pieces.Add([]);
            if (known) pieces[^1].Add(point);
            open = known;
        }

        return pieces;
    }
}
