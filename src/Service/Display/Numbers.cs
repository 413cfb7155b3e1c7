using System.Globalization;

namespace Acquire.Service.Display;

/// <summary>Numbers as people read them.</summary>
internal static class Numbers
{
    /// <summary>What stands where nothing is known.</summary>
    public const string None = "–";

    private const int MostDecimals = 3;
    private const double Finest = 0.001;

    /// <summary>A value with as many decimals as its standard uncertainty warrants: two digits of it, three decimals at the most.
    /// Where the uncertainty is not known, four digits of the value.</summary>
    public static string Measured(double value, double uncertainty)
    {
        if (!double.IsFinite(value)) return None;
        int decimals = uncertainty > 0 && double.IsFinite(uncertainty)
            ? Decimals(uncertainty, 2)
            : Decimals(Math.Max(Math.Abs(value), 1e-3), 4);
        return value.ToString("F" + decimals, CultureInfo.InvariantCulture);
    }

    /// <summary>An uncertainty with two digits, three decimals at the most.</summary>
    public static string Uncertainty(double u)
    {
        if (!double.IsFinite(u)) return None;
        if (u is > 0 and < Finest) return "<" + Finest.ToString(CultureInfo.InvariantCulture);
        return u > 0 ? u.ToString("F" + Decimals(u, 2), CultureInfo.InvariantCulture) : "0";
    }

    /// <summary>A time as h:mm:ss, in whole seconds that have passed.</summary>
    public static string Clock(double seconds)
    {
        if (!double.IsFinite(seconds) || Math.Abs(seconds) > 1e9) return None;
        long whole = (long)Math.Floor(Math.Max(seconds, 0));
        return string.Create(CultureInfo.InvariantCulture, $"{whole / 3600}:{whole / 60 % 60:00}:{whole % 60:00}");
    }

    /// <summary>A time as h:mm:ss with tenths of a second.</summary>
    public static string ClockTenths(double seconds)
    {
        if (!double.IsFinite(seconds) || Math.Abs(seconds) > 1e9) return None;
        double tenths = Math.Round(Math.Max(seconds, 0) * 10) / 10;
        long whole = (long)Math.Floor(tenths);
        return string.Create(CultureInfo.InvariantCulture, $"{Clock(whole)}.{Math.Round((tenths - whole) * 10):0}");
    }

    /// <summary>A count with its thousands parted.</summary>
    public static string Count(double count) => double.IsFinite(count) ? count.ToString("N0", CultureInfo.InvariantCulture) : None;

    /// <summary>Bytes in the unit that suits them.</summary>
    public static string Bytes(long bytes) => bytes switch
    {
        < 1000 => string.Create(CultureInfo.InvariantCulture, $"{bytes} B"),
        < 1_000_000 => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e3:F0} kB"),
        < 1_000_000_000 => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e6:F1} MB"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e9:F2} GB"),
    };

    private static int Decimals(double scale, int digits) =>
        Math.Clamp(digits - 1 - (int)Math.Floor(Math.Log10(scale)), 0, MostDecimals);
}
