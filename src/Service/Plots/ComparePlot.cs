using System.Globalization;
using Acquire.Results.Comparison;
using Acquire.Service.Display;
using Acquire.Service.Reports;
using ScottPlot;
using ScottPlot.Plottables;

namespace Acquire.Service.Plots;

/// <summary>Draws a comparison: the change in percent in each band of speed, and below it over all bands and for the whole spin.</summary>
internal static class ComparePlot
{
    private const int BandRows = 380;
    private const int RowHeight = 34;
    private const int RestRows = 92;

    /// <summary>Writes the picture as .png or .svg, by the file's ending.</summary>
    public static void Write(string file, RunComparison result)
    {
        PlotFonts.Use();
        using Plot bands = Bands(result);
        using Plot whole = Whole(result);
        PlotFile.Write(file, (bands, BandRows), (whole, WholeRows(result)));
    }

    /// <summary>Adds the picture to a page.</summary>
    public static void AddTo(HtmlReport report, RunComparison result)
    {
        PlotFonts.Use();
        using Plot bands = Bands(result);
        using Plot whole = Whole(result);
        report.Picture(
            "Change of the time in each band of speed, and below it over all bands and for the whole spin; bars are 95 % intervals.",
            (bands, BandRows), (whole, WholeRows(result)));
    }

    private static int WholeRows(RunComparison result) => RestRows + (RowHeight * 2 * result.Variants.Count);

    private static Plot Bands(RunComparison result)
    {
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(result.Variants.Count == 1 ? $"{result.Variants[0].Name} beside the baseline (hollow: not shown to differ)" : "Variants beside the baseline (hollow: not shown to differ)");
        (double low, double high) = (0, 0);
        for (int i = 0; i < result.Variants.Count; i++)
        {
            VariantResult variant = result.Variants[i];
            foreach (BandChange band in variant.Bands)
            {
                if (band.Change is not { } change) continue;
                double width = band.FromRpm - band.ToRpm;
                double at = band.ToRpm + (width * (0.5 + ((i - ((result.Variants.Count - 1) / 2.0)) * Math.Min(0.16, 0.7 / result.Variants.Count))));
                if (i == 0) PlotLook.Edge(plot, band.ToRpm);
                PlotLook.Interval(plot, (at, change.LowPercent), (at, change.HighPercent));
                PlotLook.Mark(plot.Add.Marker(at, change.Percent), i, band.IsShown);
                (low, high) = (Least(low, change.LowPercent, change.Percent), Most(high, change.HighPercent, change.Percent));
            }
        }

        PlotLook.Zero(plot.Add.HorizontalLine(0));
        double room = Math.Max(1, high - low);
        double speeds = result.FromRpm - result.ToRpm;
        plot.Axes.SetLimits(result.ToRpm - (0.02 * speeds), result.FromRpm + (0.02 * speeds), low - (0.08 * room), high + (0.16 * room));
        if (result.Variants.Count > 1) Key(plot, result, low + ((1.1 * room)));
        plot.XLabel("speed / rpm");
        plot.YLabel("change of time / %");
        return plot;
    }

    // The variants' names stand in a line at the top, each behind its mark.
    private static void Key(Plot plot, RunComparison result, double height)
    {
        double speeds = result.FromRpm - result.ToRpm;
        for (int i = 0; i < result.Variants.Count; i++)
        {
            double at = result.ToRpm + (speeds * (0.01 + (i * Math.Min(0.3, 1.0 / result.Variants.Count))));
            PlotLook.Mark(plot.Add.Marker(at, height), i, isShown: true);
            PlotLook.Words(plot.Add.Text(result.Variants[i].Name, at, height), Alignment.MiddleLeft);
        }
    }

    private static Plot Whole(RunComparison result)
    {
        Plot plot = PlotLook.Make(topMargin: 6);
        var ticks = new List<Tick>();
        (double low, double high) = (0, 0);
        int rows = 2 * result.Variants.Count;
        for (int i = 0; i < result.Variants.Count; i++)
        {
            VariantResult variant = result.Variants[i];
            string name = result.Variants.Count > 1 ? variant.Name + ", " : "";
            (string What, Change? Change)[] lines =
            [
                (string.Create(CultureInfo.InvariantCulture, $"{name}{result.FromRpm:0.#} to {result.ToRpm:0.#} rpm"), variant.Change),
                (variant.WholeSpin is { } w ? string.Create(CultureInfo.InvariantCulture, $"{name}whole spin from {w.StartRpm:F0} rpm") : "", variant.WholeSpin?.Change),
            ];
            for (int j = 0; j < lines.Length; j++)
            {
                if (lines[j].Change is not { } change) continue;
                double y = rows - (2 * i) - j;
                PlotLook.Interval(plot, (change.LowPercent, y), (change.HighPercent, y));
                PlotLook.Mark(plot.Add.Marker(change.Percent, y), i, change.IsShown);
                ticks.Add(new Tick(y, lines[j].What));
                PlotLook.Words(plot.Add.Text(ChangeWords.WithInterval(change), Most(change.HighPercent, change.Percent), y), Alignment.MiddleLeft);
                (low, high) = (Least(low, change.LowPercent, change.Percent), Most(high, change.HighPercent, change.Percent));
            }
        }

        VerticalLine zero = plot.Add.VerticalLine(0);
        PlotLook.Zero(zero);
        plot.Axes.Left.TickGenerator = new ScottPlot.TickGenerators.NumericManual([.. ticks]);
        plot.Axes.Left.MajorTickStyle.Length = 0;
        plot.Grid.YAxisStyle.IsVisible = false;
        double room = Math.Max(1, high - low);
        plot.Axes.SetLimits(low - (0.06 * room), high + (0.36 * room), 0.4, rows + 0.6);
        plot.Layout.Fixed(new PixelPadding(PlotLook.RoomFor(ticks.Select(t => t.Label)), 24, 52, 6));
        plot.XLabel("change of time / %");
        return plot;
    }

    private static double Least(params double[] values) => values.Where(double.IsFinite).DefaultIfEmpty(0).Min();

    private static double Most(params double[] values) => values.Where(double.IsFinite).DefaultIfEmpty(0).Max();
}
