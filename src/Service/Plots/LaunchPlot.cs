using Acquire.Results.Launches;
using Acquire.Service.Display;
using Acquire.Service.Reports;
using Acquire.Service.Runs;
using ScottPlot;

namespace Acquire.Service.Plots;

/// <summary>Draws launches: speed against the time since the first mark, up to the release; groups told apart by shape and line.</summary>
internal static class LaunchPlot
{
    private const int Rows = 470;
    private const int MostMarked = 60;

    /// <summary>Writes the picture as .png or .svg, by the file's ending.</summary>
    public static void Write(string file, LaunchText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        PlotFile.Write(file, (plot, Rows));
    }

    /// <summary>Adds the picture to a page.</summary>
    public static void AddTo(HtmlReport report, LaunchText text)
    {
        PlotFonts.Use();
        using Plot plot = Draw(text);
        report.Picture("Speed of each turn up to the release, which is the filled mark at each curve's end.", (plot, Rows));
    }

    private static Plot Draw(LaunchText text)
    {
        Plot plot = PlotLook.Make(topMargin: 40);
        plot.Title(text.Title);
        (double right, double top) = (0.1, 1);
        foreach (LaunchedRun run in text.Runs)
        {
            int group = text.Groups.Index().First(g => g.Item.Name == run.Group).Index;
            double endS = run.Run.ReleaseS;
            LaunchSpeed[] course = [.. run.Launch.Speeds.Speeds, new LaunchSpeed(endS, run.Launch.PeakRpm)];
            PlotLook.Curve(plot.Add.ScatterLine(course.Select(p => p.TimeS).ToArray(), course.Select(p => p.Rpm).ToArray()), group);
            foreach (LaunchSpeed speed in run.Launch.Speeds.Speeds.Count <= MostMarked ? run.Launch.Speeds.Speeds : [])
                PlotLook.Run(plot.Add.Marker(speed.TimeS, speed.Rpm), group);
            PlotLook.Mark(plot.Add.Marker(endS, run.Launch.PeakRpm), group, isShown: true);
            (right, top) = (Math.Max(right, endS), Math.Max(top, course.Where(p => double.IsFinite(p.Rpm)).Select(p => p.Rpm).DefaultIfEmpty(1).Max()));
        }

        if (text.Groups.Count > 1) Key(plot, text, right, top);
        plot.Axes.SetLimits(-0.02 * right, 1.05 * right, 0, 1.12 * top);
        plot.XLabel("time since the first mark / s");
        plot.YLabel("speed / rpm");
        return plot;
    }

    // Launches end close together: their names stand in the corner below, which no launch passes.
    private static void Key(Plot plot, LaunchText text, double right, double top)
    {
        for (int i = 0; i < text.Groups.Count; i++)
        {
            double height = (0.06 * (text.Groups.Count - i)) * top;
            PlotLook.Mark(plot.Add.Marker(0.8 * right, height), i, isShown: true);
            PlotLook.Words(plot.Add.Text(LaunchText.Name(text.Groups[i]), 0.81 * right, height), Alignment.MiddleLeft);
        }
    }
}
