using System.Globalization;
using Acquire.Motion;
using Acquire.Results;
using Acquire.Results.Losses;
using Acquire.Service.Display;
using Acquire.Service.Runs;
using ScottPlot;
using ScottPlot.Plottables;

namespace Acquire.Service.Plots;

/// <summary>Draws deceleration, or torque where the body is known, against speed: what was measured and the fitted law with its parts; several
/// runs over each other, each by its law as a whole.</summary>
internal static class LossPlot
{
    /// <summary>Height, points.</summary>
    public const int Rows = 480;

    private const double RadPerS = Math.PI / 30;
    private const int Points = 160;
    private const int Cells = 60;
    private static readonly LinePattern[] Dashes = [LinePattern.Solid, LinePattern.Dashed, LinePattern.Dotted, LinePattern.DenselyDashed];

    /// <summary>Writes the picture.</summary>
    public static void Write(string file, IReadOnlyList<SpindownRun> runs)
    {
        using Plot plot = Make(runs);
        PlotFile.Write(file, (plot, Rows));
    }

    /// <summary>Makes the picture.</summary>
    public static Plot Make(IReadOnlyList<SpindownRun> runs)
    {
        PlotFonts.Use();
        Plot plot = PlotLook.Make(topMargin: 40);
        bool torque = runs.All(r => r.Body is not null);
        SpeedBand band = runs[0].Spin.Whole.Band;
        double margin = 0.02 * (band.FromRpm - band.ToRpm);
        var names = new List<(double Y, string Name)>();
        double top = 0;
        for (int i = 0; i < runs.Count; i++)
            top = Math.Max(top, Run(plot, runs[i], Scale(runs[i], torque), runs.Count == 1, Dashes[i % Dashes.Length], Name(runs, i), names));
        plot.Axes.SetLimits(band.ToRpm - margin, band.FromRpm + margin, 0, 1.1 * top);
        Label(plot, names, 1.1 * top);
        plot.Title(Title(runs));
        plot.XLabel("speed / rpm");
        plot.YLabel(torque ? "torque / µN m" : "deceleration / (rpm/s)");
        plot.Layout.Fixed(new PixelPadding(78, runs.Count == 1 ? 190 : 260, 52, 40));
        return plot;
    }

    // From rad/s² to what is drawn.
    private static double Scale(SpindownRun run, bool torque) => torque ? run.Body!.Rotor.InertiaAxisKgM2 * 1e6 : 1 / RadPerS;

    private static double Run(Plot plot, SpindownRun run, double scale, bool whole, LinePattern dash, string name, List<(double, string)> names)
    {
        SpeedBand band = run.Spin.Whole.Band;
        if (run.Spin.Law is not { } law)
            return Measured(plot, run, scale * RadPerS);
        double[] rpm = [.. Enumerable.Range(0, Points + 1).Select(i => band.ToRpm + ((band.FromRpm - band.ToRpm) * i / Points))];
        double top = Math.Max(whole ? Parts(plot, law, run, rpm, scale, names) : 0, Measured(plot, run, scale * RadPerS));
        Estimate[] all = [.. rpm.Select(r => law.Deceleration(r * RadPerS))];
        FillY between = plot.Add.FillY(
            rpm,
            [.. all.Select(e => scale * Math.Max(0, e.Value - (PlotLook.Coverage * e.U)))],
            [.. all.Select(e => scale * (e.Value + (PlotLook.Coverage * e.U)))]);
        PlotLook.Band(between);
        Line(plot, rpm, [.. all.Select(e => scale * e.Value)], dash, 1.8f);
        names.Add((scale * all[^1].Value, whole ? "all" : name));
        return Math.Max(top, scale * all.Max(e => e.Value + (PlotLook.Coverage * e.U)));
    }

    private static double Parts(Plot plot, FittedLaw law, SpindownRun run, double[] rpm, double scale, List<(double, string)> names)
    {
        LinePattern[] dashes = [LinePattern.Dashed, LinePattern.Dotted, LinePattern.DenselyDashed, LinePattern.Solid];
        for (int g = 0; g < law.Groups.Count && law.Groups.Count > 1; g++)
        {
            Estimate[] part = [.. rpm.Select(r => law.Part(law.Groups[g], r * RadPerS))];
            PlotLook.ThinBand(plot.Add.FillY(
                rpm,
                [.. part.Select(e => scale * Math.Max(0, e.Value - (PlotLook.Coverage * e.U)))],
                [.. part.Select(e => scale * (e.Value + (PlotLook.Coverage * e.U)))]));
            Line(plot, rpm, [.. part.Select(e => scale * e.Value)], dashes[g % dashes.Length], g % dashes.Length == 3 ? 0.9f : 1.4f);
            names.Add((scale * part[^1].Value, $"{LossWords.Of(law.Groups[g])} ({LossWords.Powers(law.Groups[g])})"));
        }

        if (run.Body is not { } body)
            return 0;
        double[] disc = [.. rpm.Select(r => 1e6 * body.At(r, default).DiscTorqueNm)];
        Scatter line = plot.Add.ScatterLine(rpm, disc);
        PlotLook.Yardstick(line);
        names.Add((disc[^1], body.ClearanceM is null ? "plain disc, free air" : "plain disc, enclosed"));
        return disc.Max();
    }

    // The speed curve's own deceleration: means over narrow cells of speed, and their 95 % as bars.
    private static double Measured(Plot plot, SpindownRun run, double scale)
    {
        SpeedBand band = run.Spin.Whole.Band;
        double width = (band.FromRpm - band.ToRpm) / Cells;
        SpeedPoint[] points = [.. run.Run.Speed.Where(p => p.TimeS > run.Run.ReleaseS && p.Rpm >= band.ToRpm && p.Rpm <= band.FromRpm && p.UDecelRpmPerS > 0)];
        if (points.Length == 0)
            return 0;
        SpeedPoint[] shown = [.. points.GroupBy(p => (int)((p.Rpm - band.ToRpm) / width)).Select(cell => cell.MinBy(p => p.UDecelRpmPerS)).OrderBy(p => p.Rpm)];
        double[] rpm = [.. shown.Select(p => p.Rpm)];
        double[] y = [.. shown.Select(p => scale * p.DecelRpmPerS)];
        ErrorBar bars = plot.Add.ErrorBar(rpm, y, [.. shown.Select(p => scale * PlotLook.Coverage * p.UDecelRpmPerS)]);
        PlotLook.Bars(bars);
        PlotLook.Marks(plot.Add.ScatterPoints(rpm, y));
        return y.Max();
    }

    private static void Line(Plot plot, double[] x, double[] y, LinePattern dash, float width)
    {
        Scatter line = plot.Add.ScatterLine(x, y);
        PlotLook.Curve(line);
        line.LineWidth = width;
        line.LinePattern = dash;
    }

    // Names stand right of the ends of their lines, moved apart where they would cover each other.
    private static void Label(Plot plot, List<(double Y, string Name)> names, double top)
    {
        (double Y, string Name)[] sorted = [.. names.OrderBy(n => n.Y)];
        double[] places = Apart([.. sorted.Select(n => n.Y)], top * 16 / (Rows - 92.0));
        plot.Axes.SetLimitsY(0, top, plot.Axes.Right);
        plot.Axes.Right.SetTicks(places, [.. sorted.Select(n => n.Name)]);
        PlotLook.Names(plot.Axes.Right);
    }

    // As little as may be in sum of squares: names that would meet form a block about the mean of their places.
    private static double[] Apart(double[] sorted, double least)
    {
        var blocks = new List<(double Sum, int Count)>();
        for (int i = 0; i < sorted.Length; i++)
        {
            blocks.Add((sorted[i] - (i * least), 1));
            while (blocks.Count > 1 && blocks[^1].Sum / blocks[^1].Count < blocks[^2].Sum / blocks[^2].Count)
            {
                blocks[^2] = (blocks[^2].Sum + blocks[^1].Sum, blocks[^2].Count + blocks[^1].Count);
                blocks.RemoveAt(blocks.Count - 1);
            }
        }

        double lift = Math.Max(0, (least / 2) - (blocks.Count > 0 ? blocks[0].Sum / blocks[0].Count : 0));
        return [.. blocks.SelectMany(b => Enumerable.Repeat(b.Sum / b.Count, b.Count)).Select((y, i) => Math.Max(y, (blocks[0].Sum / blocks[0].Count) + lift) + (i * least))];
    }

    private static string Title(IReadOnlyList<SpindownRun> runs)
    {
        if (runs.Count > 1) return runs.All(r => r.Body is not null) ? "Torque against speed: measured (points) and fitted law" : "Deceleration against speed: measured (points) and fitted law";
        string top = runs[0].Run.Descriptor.Setup.Top;
        return (top.Length == 0 ? "unnamed top" : top) + ", " + runs[0].Run.Descriptor.StartedAt.UtcDateTime.ToString("d MMMM yyyy HH:mm", CultureInfo.InvariantCulture) + " UTC";
    }

    // What tells the runs apart, in short: what differs of their set-ups, else when they began.
    private static string Name(IReadOnlyList<SpindownRun> runs, int i)
    {
        string[] keys = [.. RunFilter.Keys(runs.Select(r => r.Run.Descriptor)).Where(k => runs.Select(r => RunFilter.Value(r.Run.Descriptor, k)).Distinct().Count() > 1)];
        string Of(SpindownRun run) => string.Join(", ", keys.Select(k => (Key: k, Value: RunFilter.Value(run.Run.Descriptor, k)))
            .Where(k => k.Value is { Length: > 0 }).Select(k => $"{k.Key}={k.Value}"));
        string name = Of(runs[i]);
        bool tells = runs.Count(r => Of(r) == name) == 1;
        string when = runs[i].Run.Descriptor.StartedAt.UtcDateTime.ToString("MM-dd HH:mm", CultureInfo.InvariantCulture);
        return name.Length > 0 && tells ? name : name.Length > 0 ? $"{name}, {when}" : when;
    }
}
