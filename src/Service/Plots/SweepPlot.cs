using Acquire.Results.Sweep;
using Acquire.Service.Display;
using Acquire.Service.Reports;
using ScottPlot;

namespace Acquire.Service.Plots;

/// <summary>Draws a sweep: every run a point, the curve of each category with its band, and where the best lies.</summary>
internal static class SweepPlot
{
    private const int Rows = 470;

    /// <summary>Writes the picture as .png or .svg, by the file's ending.</summary>
    public static void Write(string file, SweepText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        PlotFile.Write(file, (plot, Rows));
    }

    /// <summary>Adds the picture to a page.</summary>
    public static void AddTo(HtmlReport report, SweepText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        report.Picture("Every run a point; the curve with its 95 % band; at the foot the best value with its 95 % interval.", (plot, Rows));
    }

    private static Plot Draw(SweepText text)
    {
        FactorSweep sweep = text.Result;
        bool gain = sweep.Baseline.Count > 0;
        double Height(double seconds) => gain ? 100 * ((seconds / sweep.BaselineS) - 1) : seconds / 60;
        double[] heights = [.. sweep.Curves.SelectMany(c => c.Points).Select(p => Height(Math.Exp(p.Time.Value))), .. sweep.Curves.SelectMany(c => c.Curve).Select(p => Height(p.TimeS)), .. gain ? [0.0] : Array.Empty<double>()];
        double[] values = [.. sweep.Curves.SelectMany(c => c.Levels).Select(l => l.Value)];
        double room = Math.Max(1e-3 * Math.Abs(heights.Max()), heights.Max() - heights.Min());
        double width = values.Max() - values.Min();
        double foot = heights.Min() - (0.12 * room);
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(text.Title);
        for (int i = 0; i < sweep.Curves.Count; i++) Band(plot, sweep.Curves[i], Height);
        for (int i = 0; i < sweep.Curves.Count; i++)
        {
            FactorCurve curve = sweep.Curves[i];
            Curve(plot, curve, i, Height, text.By.Length > 0 ? SweepText.Category(curve) : "");
            Best(plot, curve, i, foot - (i * 0.1 * room), text.By.Length > 0 ? SweepText.Category(curve) + " " : "");
        }

        if (gain) PlotLook.Zero(plot.Add.HorizontalLine(0));
        double bottom = foot - (((sweep.Curves.Count - 1) * 0.1 * room) + (0.08 * room));
        plot.Axes.SetLimits(values.Min() - (0.05 * width), values.Max() + ((text.By.Length > 0 ? 0.16 : 0.05) * width), bottom, heights.Max() + (0.1 * room));
        plot.XLabel(text.Factor);
        plot.YLabel(gain ? "gain of decay time / %" : "decay time / min");
        return plot;
    }

    private static void Band(Plot plot, FactorCurve curve, Func<double, double> height)
    {
        CurvePoint[] known = [.. curve.Curve.Where(p => double.IsFinite(p.LowS) && double.IsFinite(p.HighS))];
        if (known.Length > 1)
            PlotLook.Band(plot.Add.FillY([.. known.Select(p => p.Value)], [.. known.Select(p => height(p.LowS))], [.. known.Select(p => height(p.HighS))]));
    }

    private static void Curve(Plot plot, FactorCurve curve, int group, Func<double, double> height, string name)
    {
        if (curve.Curve.Count > 1)
            PlotLook.Curve(plot.Add.ScatterLine(curve.Curve.Select(p => p.Value).ToArray(), curve.Curve.Select(p => height(p.TimeS)).ToArray()), group);
        foreach (FactorPoint point in curve.Points)
            PlotLook.Run(plot.Add.Marker(point.Value, height(Math.Exp(point.Time.Value))), group);
        if (name.Length > 0)
            PlotLook.Words(plot.Add.Text(name, curve.Levels[^1].Value, height(curve.Curve.Count > 0 ? curve.Curve[^1].TimeS : curve.Levels[^1].MeanS)), Alignment.MiddleLeft);
    }

    private static void Best(Plot plot, FactorCurve curve, int group, double foot, string name)
    {
        PlotLook.Interval(plot, (curve.BestLow, foot), (curve.BestHigh, foot));
        PlotLook.Mark(plot.Add.Marker(curve.Best, foot), group, isShown: true);
        string interval = double.IsFinite(curve.BestLow) ? $" ({SweepText.Value(SweepText.Round(curve, curve.BestLow))} to {SweepText.Value(SweepText.Round(curve, curve.BestHigh))})" : "";
        double end = double.IsFinite(curve.BestHigh) ? curve.BestHigh : curve.Best;
        bool left = end > 0.5 * (curve.Levels[0].Value + curve.Levels[^1].Value);
        double from = double.IsFinite(curve.BestLow) ? curve.BestLow : curve.Best;
        PlotLook.Words(plot.Add.Text($"{name}best {SweepText.Value(SweepText.Round(curve, curve.Best))}{interval}", left ? from : end, foot), left ? Alignment.MiddleRight : Alignment.MiddleLeft);
    }
}
