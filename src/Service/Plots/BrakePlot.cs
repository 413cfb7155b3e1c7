using Acquire.Results.Braking;
using Acquire.Service.Display;
using Acquire.Service.Reports;
using ScottPlot;

namespace Acquire.Service.Plots;

/// <summary>Draws a motor bench: braking torque against speed, every reading a point, each configuration's curve with its band.</summary>
internal static class BrakePlot
{
    private const int Rows = 520;
    private const int Steps = 160;
    private const double RadPerSPerRpm = Math.PI / 30;

    /// <summary>Writes the picture as .png or .svg, by the file's ending.</summary>
    public static void Write(string file, BrakeText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        PlotFile.Write(file, (plot, Rows));
    }

    /// <summary>Adds the picture to a page.</summary>
    public static void AddTo(HtmlReport report, BrakeText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        report.Picture("Every reading a point, crossed out where it is far from its curve; curves with 95 % bands; dotted: from where on one brakes less than the other, with its 95 % interval at the foot.", (plot, Rows));
    }

    private static Plot Draw(BrakeText text)
    {
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(BrakeText.Title);
        BrakeCurve[] curves = [.. text.Bench.Curves.Where(c => c.HasCurve)];
        (double factor, string unit) = text.Unit;
        foreach (BrakeCurve curve in curves) Band(plot, curve, factor);
        double[] heights = [.. text.Bench.Curves.SelectMany(c => c.Points).Where(p => !p.Flagged).Select(p => factor * p.TorqueNm), 0];
        double[] speeds = [.. text.Bench.Curves.SelectMany(c => c.Points).Where(p => double.IsFinite(p.TorqueNm)).Select(p => p.Reading.RadPerS / RadPerSPerRpm).DefaultIfEmpty(1)];
        double room = Math.Max(1e-9, heights.Max() - heights.Min());
        (double bottom, double top) = (heights.Min() - (0.1 * room), heights.Max() + (0.14 * room));
        double width = Math.Max(1, speeds.Max() - speeds.Min());
        for (int i = 0; i < text.Bench.Curves.Count; i++) Curve(plot, text.Bench.Curves[i], i, factor, (bottom + (0.02 * room), top - (0.02 * room)));
        int row = 0;
        foreach (BrakeComparison told in text.Bench.Comparisons.Where(c => double.IsFinite(c.CrossingRadPerS)))
            Crossing(plot, told, bottom + (0.04 * room * (1 + (2 * row++))));
        Names(plot, text, curves, factor, 0.045 * room);
        PlotLook.Zero(plot.Add.HorizontalLine(0));
        plot.Axes.SetLimits(speeds.Min() - (0.03 * width), speeds.Max() + (0.16 * width), bottom, top);
        plot.XLabel("speed / rpm");
        plot.YLabel($"braking torque / ({unit})");
        return plot;
    }

    private static double[] Grid(BrakeCurve curve) => [.. Enumerable.Range(0, Steps + 1).Select(i => curve.LowRadPerS + ((curve.HighRadPerS - curve.LowRadPerS) * i / Steps))];

    private static void Band(Plot plot, BrakeCurve curve, double factor)
    {
        double[] grid = Grid(curve);
        PlotLook.ThinBand(plot.Add.FillY(
            [.. grid.Select(w => w / RadPerSPerRpm)],
            [.. grid.Select(w => factor * (curve.TorqueNm(w).Value - BrakeText.Half(curve, w)))],
            [.. grid.Select(w => factor * (curve.TorqueNm(w).Value + BrakeText.Half(curve, w)))]));
    }

    private static void Curve(Plot plot, BrakeCurve curve, int group, double factor, (double Bottom, double Top) shown)
    {
        if (curve.HasCurve)
        {
            double[] grid = Grid(curve);
            PlotLook.Curve(plot.Add.ScatterLine(grid.Select(w => w / RadPerSPerRpm).ToArray(), grid.Select(w => factor * curve.TorqueNm(w).Value).ToArray()), group);
        }

        foreach (BrakePoint point in curve.Points.Where(p => double.IsFinite(p.TorqueNm)))
        {
            // What lies beyond the picture stands at its edge.
            ScottPlot.Plottables.Marker mark = plot.Add.Marker(point.Reading.RadPerS / RadPerSPerRpm, Math.Clamp(factor * point.TorqueNm, shown.Bottom, shown.Top));
            PlotLook.Run(mark, group);
            if (point.Flagged) mark.Shape = MarkerShape.Eks;
        }
    }

    private static void Crossing(Plot plot, BrakeComparison told, double foot)
    {
        double at = told.CrossingRadPerS / RadPerSPerRpm;
        double low = (double.IsFinite(told.LowRadPerS) ? told.LowRadPerS : told.FromRadPerS) / RadPerSPerRpm;
        double high = told.HighRadPerS / RadPerSPerRpm;
        if (double.IsFinite(told.LowRadPerS)) PlotLook.Moment(plot.Add.VerticalLine(at));
        PlotLook.Interval(plot, (low, foot), (high, foot));
        string better = told.Verdict == BrakeVerdict.LessAtSpeed ? told.Second.Name : told.First.Name;
        PlotLook.Words(plot.Add.Text(double.IsFinite(told.LowRadPerS) ? $"{better} brakes less above {BrakeText.Rpm(told.CrossingRadPerS)} rpm" : $"{better} shown to brake less above {BrakeText.Rpm(told.HighRadPerS)} rpm", high, foot), Alignment.MiddleLeft);
    }

    // Names stand at the ends of their curves, moved apart where they would lie over each other.
    private static void Names(Plot plot, BrakeText text, BrakeCurve[] curves, double factor, double apart)
    {
        double last = double.NegativeInfinity;
        foreach (BrakeCurve curve in curves.OrderBy(c => c.TorqueNm(c.HighRadPerS).Value))
        {
            double height = Math.Max(factor * curve.TorqueNm(curve.HighRadPerS).Value, last + apart);
            PlotLook.Words(plot.Add.Text(curve.Name, curve.HighRadPerS / RadPerSPerRpm, height), Alignment.MiddleLeft);
            last = height;
        }
    }
}
