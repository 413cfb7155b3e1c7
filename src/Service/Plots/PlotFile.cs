using System.Text;
using ScottPlot;
using SkiaSharp;

namespace Acquire.Service.Plots;

/// <summary>One or more plots under each other, as a file or as text for a page.</summary>
internal static class PlotFile
{
    /// <summary>Width of a picture, points.</summary>
    public const int Columns = 1000;

    private const float PngScale = 2;

    /// <summary>True for a file that a plot can be written to.</summary>
    public static bool IsPlotFile(string file) => file.EndsWith(".png", StringComparison.OrdinalIgnoreCase) || IsSvg(file);

    /// <summary>Writes the plots as .png or .svg, by the file's ending.</summary>
    /// <param name="file">The file.</param>
    /// <param name="panels">The plots from the top, each with its height in points.</param>
    /// <exception cref="ArgumentException">The file ends otherwise.</exception>
    public static void Write(string file, params IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        if (!IsPlotFile(file)) throw new ArgumentException("A plot is a .png or .svg file.", nameof(file));
        using FileStream output = File.Create(file);
        if (IsSvg(file)) WriteSvg(output, panels);
        else WritePng(output, panels);
    }

    /// <summary>The plots as the text of an SVG element.</summary>
    public static string Svg(params IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        using var output = new MemoryStream();
        WriteSvg(output, panels);
        string text = Encoding.UTF8.GetString(output.ToArray());
        return text[text.IndexOf("<svg", StringComparison.Ordinal)..];
    }

    private static bool IsSvg(string file) => file.EndsWith(".svg", StringComparison.OrdinalIgnoreCase);

    private static void WriteSvg(Stream output, IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        // Where a plot is drawn for the first time its axes move and it is drawn twice, one over the other.
        using (var nowhere = new SKNoDrawCanvas(Columns, panels.Sum(p => p.Rows))) Draw(nowhere, panels);
        using SKCanvas canvas = SKSvgCanvas.Create(new SKRect(0, 0, Columns, panels.Sum(p => p.Rows)), output);
        Draw(canvas, panels);
    }

    private static void WritePng(Stream output, IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        using var bitmap = new SKBitmap((int)(Columns * PngScale), (int)(panels.Sum(p => p.Rows) * PngScale));
        using (var canvas = new SKCanvas(bitmap))
        {
            canvas.Clear(SKColors.White);
            canvas.Scale(PngScale);
            Draw(canvas, panels);
        }

        using SKData png = bitmap.Encode(SKEncodedImageFormat.Png, 100);
        png.SaveTo(output);
    }

    private static void Draw(SKCanvas canvas, IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        int top = 0;
        foreach ((Plot plot, int rows) in panels)
        {
            plot.Render(canvas, new PixelRect(0, Columns, top + rows, top));
            top += rows;
        }
    }
}
