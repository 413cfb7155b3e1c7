using System.Reflection;
using ScottPlot;
using SkiaSharp;

namespace Acquire.Service.Plots;

/// <summary>The plots' own font, so that they look the same everywhere and have their words on a computer without fonts too.</summary>
internal static class PlotFonts
{
    /// <summary>The font's name.</summary>
    public const string Family = "DejaVu Sans";

    private const string Resource = "Acquire.Service.Plots.Font.DejaVuSans-subset.ttf";
    private static readonly Lazy<bool> Registered = new(Register);

    /// <summary>Makes the font known to the drawing library; once for the process.</summary>
    public static void Use() => _ = Registered.Value;

    private static bool Register()
    {
        Fonts.FontResolvers.Insert(0, new OwnFont(Load()));
        Fonts.Default = Family;
        Fonts.Sans = Family;
        return true;
    }

    private static SKTypeface Load()
    {
        using Stream font = Assembly.GetExecutingAssembly().GetManifestResourceStream(Resource)
            ?? throw new InvalidOperationException($"The program lacks its resource {Resource}.");
        using SKData data = SKData.Create(font);
        return SKTypeface.FromData(data);
    }

    private sealed class OwnFont(SKTypeface typeface) : IFontResolver
    {
        public SKTypeface? CreateTypeface(string fontName, FontWeight weight, FontSlant slant, FontSpacing spacing) =>
            fontName == Family ? typeface : null;

        public SKTypeface? CreateTypeface(string fontName, bool bold, bool italic) => fontName == Family ? typeface : null;
    }
}
