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
