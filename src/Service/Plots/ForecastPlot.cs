using Acquire.Motion;
using Acquire.Results.Forecasting;
using Acquire.Service.Forecasting;
using Acquire.Service.Reports;
using ScottPlot;
using ScottPlot.Plottables;

namespace Acquire.Service.Plots;

/// <summary>Draws a forecast: the speed so far, and from then on the band in which it will lie.</summary>
internal static class ForecastPlot
{
    private const int Rows = 470;
    private const int Places = 80;

    /// <summary>Writes the picture as .png or .svg, by the file's ending.</summary>
    public static void Write(string file, ForecastText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        PlotFile.Write(file, (plot, Rows));
    }

    /// <summary>Adds the picture to a page.</summary>
    public static void AddTo(HtmlReport report, ForecastText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        report.Picture("Speed seen, and from the dotted line on the forecast with its 95 % band; the bar below is when the spin ends.", (plot, Rows));
    }

    private static Plot Draw(ForecastText text)
    {
        RunForecast of = text.Of;
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(text.Title);
        double atS = of.Run.ReleaseS + of.AtS;
        foreach (List<SpeedPoint> piece in SpeedPlot.Pieces([.. of.Run.Speed.Where(p => p.TimeS <= atS)]))
            PlotLook.Curve(plot.Add.ScatterLine(piece.Select(p => Minutes(of, p.TimeS)).ToArray(), piece.Select(p => p.Rpm).ToArray()));
        double endS = of.AtS + (of.IsOver ? 0 : of.RemainingS.High);
        if (!of.IsOver) Ahead(plot, of, text);
        double top = of.StartRpm;
        plot.Axes.SetLimits(-0.01 * endS / 60, 1.06 * endS / 60, 0, 1.12 * top);
        plot.XLabel("time since the release / min");
        plot.YLabel("speed / rpm");
        return plot;
    }

    private static void Ahead(Plot plot, RunForecast of, ForecastText text)
    {
        Spread left = of.RemainingS;
        double[] ahead = [.. Enumerable.Range(0, Places + 1).Select(i => left.High * i / Places)];
        IReadOnlyList<Spread> speed = of.Forecast.SpeedRpm(ahead);
        double[] minutes = [.. ahead.Select(t => (of.AtS + t) / 60)];
        FillY band = plot.Add.FillY(minutes, [.. speed.Select(s => s.Low)], [.. speed.Select(s => s.High)]);
        PlotLook.Band(band);
        int ends = speed.TakeWhile(s => s.Median > 0).Count();
        Scatter middle = plot.Add.ScatterLine(minutes[..ends], speed.Take(ends).Select(s => s.Median).ToArray());
        PlotLook.Yardstick(middle);
        VerticalLine now = plot.Add.VerticalLine(of.AtS / 60);
        PlotLook.Moment(now);
        double low = 0.03 * text.Of.StartRpm;
        PlotLook.Interval(plot, ((of.AtS + left.Low) / 60, low), ((of.AtS + left.High) / 60, low));
        PlotLook.Mark(plot.Add.Marker((of.AtS + left.Median) / 60, low), 0, isShown: true);
        PlotLook.Words(plot.Add.Text($"ends after {ForecastWords.Time(of.AtS + left.Median)}", (of.AtS + left.Low) / 60, low), Alignment.MiddleRight);
    }

    private static double Minutes(RunForecast of, double timeS) => (timeS - of.Run.ReleaseS) / 60;
}
