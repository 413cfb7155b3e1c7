using ScottPlot;

namespace Acquire.Service.Plots;

internal static class PlotFonts
{
    public static string Family => Fonts.Default;

    public static void Use()
    {
    }
}
