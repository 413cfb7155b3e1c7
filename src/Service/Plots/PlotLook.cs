using ScottPlot;
using ScottPlot.Plottables;

namespace Acquire.Service.Plots;

/// <summary>How this project's plots look: ink on white, two axes, no frame; all of it told apart in grey too.</summary>
internal static class PlotLook
{
    /// <summary>Standard uncertainties to each side of a curve's band: 95 %.</summary>
    public const double Coverage = 1.96;

    private static readonly Color Ink = Color.FromHex("#1f3d4d");
    private static readonly Color Pale = Color.FromHex("#a9c1cc");
    private static readonly Color Grey = Color.FromHex("#5c6468");
    private static readonly Color Faint = Color.FromHex("#e9ecee");

    /// <summary>An empty plot.</summary>
    /// <param name="topMargin">Room above the axes, points.</param>
    public static Plot Make(float topMargin)
    {
        var plot = new Plot();
        plot.Font.Set(PlotFonts.Family);
        plot.FigureBackground.Color = Colors.White;
        plot.DataBackground.Color = Colors.White;
        plot.Axes.Color(Grey);
        plot.Axes.Right.IsVisible = false;
        plot.Axes.Top.IsVisible = false;
        plot.Grid.MajorLineColor = Faint;
        plot.Grid.XAxisStyle.IsVisible = false;
        plot.RenderManager.ClearCanvasBeforeEachRender = false; // two plots share a canvas
        plot.HideLegend();
        plot.Axes.Title.Label.FontSize = 17;
        plot.Axes.Title.Label.Bold = false;
        plot.Axes.Title.Label.ForeColor = Ink;
        foreach (IAxis axis in new IAxis[] { plot.Axes.Bottom, plot.Axes.Left })
        {
            axis.Label.FontSize = 13;
            axis.Label.Bold = false;
            axis.Label.ForeColor = Grey;
            axis.TickLabelStyle.FontSize = 12;
            axis.TickLabelStyle.ForeColor = Grey;
            axis.MinorTickStyle.Length = 0;
        }

        plot.Axes.Left.TickLabelStyle.OffsetY = 2;

        // One width of margins, so that the panels stand under each other.
        plot.Layout.Fixed(new PixelPadding(78, 24, 52, topMargin));
        return plot;
    }

    public static void Curve(Scatter curve)
    {
        curve.Color = Ink;
        curve.LineWidth = 1.6f;
    }

    public static void Dots(Scatter dots)
    {
        dots.Color = Ink.WithAlpha(0.22);
        dots.MarkerSize = 3;
        dots.MarkerShape = MarkerShape.FilledCircle;
    }

    public static void Band(FillY band)
    {
        band.FillColor = Pale;
        band.LineWidth = 0;
        band.MarkerSize = 0;
    }

    /// <summary>A band that others may lie over.</summary>
    public static void ThinBand(FillY band)
    {
        Band(band);
        band.FillColor = Pale.WithAlpha(0.3);
    }

    /// <summary>A curve that was not measured and is there to compare with.</summary>
    public static void Yardstick(Scatter line)
    {
        line.Color = Grey;
        line.LineWidth = 1.2f;
        line.LinePattern = LinePattern.Dotted;
    }

    public static void Marks(Scatter dots)
    {
        dots.Color = Ink;
        dots.MarkerSize = 4;
        dots.MarkerShape = MarkerShape.OpenCircle;
        dots.MarkerLineWidth = 1;
    }

    public static void Bars(ErrorBar bars)
    {
        bars.Color = Grey;
        bars.LineWidth = 1;
        bars.CapSize = 0;
    }

    public static void Moment(VerticalLine line)
    {
        line.Color = Grey;
        line.LineWidth = 1;
        line.LinePattern = LinePattern.Dotted;
    }

    /// <summary>Room on the left for rows that bear words, points.</summary>
    public static float RoomFor(IEnumerable<string> words) => Math.Max(78, 24 + (7.3f * words.Select(w => w.Length).DefaultIfEmpty(0).Max()));

    /// <summary>Shapes by which groups are told apart.</summary>
    private static readonly MarkerShape[] Shapes = [MarkerShape.FilledCircle, MarkerShape.FilledSquare, MarkerShape.FilledTriangleUp, MarkerShape.FilledDiamond, MarkerShape.FilledTriangleDown];
    private static readonly MarkerShape[] Hollow = [MarkerShape.OpenCircle, MarkerShape.OpenSquare, MarkerShape.OpenTriangleUp, MarkerShape.OpenDiamond, MarkerShape.OpenTriangleDown];
    private static readonly LinePattern[] Patterns = [LinePattern.Solid, LinePattern.Dashed, LinePattern.Dotted, LinePattern.DenselyDashed];

    /// <summary>A value of a group; hollow where it is not shown to differ.</summary>
    public static void Mark(Marker mark, int group, bool isShown)
    {
        mark.Color = Ink;
        mark.Shape = (isShown ? Shapes : Hollow)[group % Shapes.Length];
        mark.Size = 9;
        mark.LineWidth = 1.6f;
    }

    /// <summary>A run among others of its group.</summary>
    public static void Run(Marker mark, int group)
    {
        mark.Color = Ink.WithAlpha(0.55);
        mark.Shape = Hollow[group % Hollow.Length];
        mark.Size = 7;
        mark.LineWidth = 1.2f;
    }

    /// <summary>A group's curve.</summary>
    public static void Curve(Scatter curve, int group)
    {
        Curve(curve);
        curve.LinePattern = Patterns[group % Patterns.Length];
        curve.MarkerSize = 0;
    }

    /// <summary>An interval; nothing where an end is not known.</summary>
    public static void Interval(Plot plot, (double X, double Y) from, (double X, double Y) to)
    {
        if (!double.IsFinite(from.X + from.Y + to.X + to.Y)) return;
        LinePlot line = plot.Add.Line(from.X, from.Y, to.X, to.Y);
        line.Color = Ink;
        line.LineWidth = 1.8f;
        line.MarkerSize = 0;
    }

    /// <summary>No change.</summary>
    public static void Zero(AxisLine line)
    {
        line.Color = Grey;
        line.LineWidth = 1.2f;
    }

    /// <summary>The edge of a band of speed.</summary>
    public static void Edge(Plot plot, double at)
    {
        VerticalLine line = plot.Add.VerticalLine(at);
        line.Color = Faint;
        line.LineWidth = 1;
    }

    /// <summary>An axis that only bears names of curves, beside their ends.</summary>
    public static void Names(IYAxis axis)
    {
        axis.IsVisible = true;
        axis.FrameLineStyle.Width = 0;
        axis.MajorTickStyle.Length = 0;
        axis.MinorTickStyle.Length = 0;
        axis.TickLabelStyle.FontSize = 12;
        axis.TickLabelStyle.ForeColor = Grey;
    }

    public static void Words(Text text, Alignment side)
    {
        text.LabelFontName = PlotFonts.Family;
        text.LabelFontSize = 12;
        text.LabelFontColor = Grey;
        text.Alignment = side;
        text.OffsetX = side == Alignment.MiddleLeft ? 6 : -6;
    }
}
