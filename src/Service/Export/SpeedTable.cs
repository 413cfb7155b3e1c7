using System.Globalization;
using Acquire.Motion;
using Acquire.Service.Runs;

namespace Acquire.Service.Export;

/// <summary>A run as one table for a spreadsheet (RFC 4180): time since the release, speed and deceleration with their standard uncertainties, the unit
/// in each column's name. Where the signal was lost the row is there and its cells are empty.</summary>
internal static class SpeedTable
{
    /// <summary>The header row.</summary>
    public const string Header = "time_since_release_s,speed_rpm,u_speed_rpm,deceleration_rpm_per_s,u_deceleration_rpm_per_s";

    /// <summary>Writes it.</summary>
    /// <returns>Rows written.</returns>
    public static int Write(TextWriter output, RunData run, ExportSpan span)
    {
        int rows = 0;
        output.Write(Header + "\n");
        foreach (SpeedPoint point in run.Speed)
        {
            double t = point.TimeS - run.ReleaseS;
            if (!span.Holds(t)) continue;
            output.Write(string.Join(',', Time(t), Number(point.Rpm), Number(point.URpm), Number(point.DecelRpmPerS), Number(point.UDecelRpmPerS)) + "\n");
            rows++;
        }

        return rows;
    }

    private static string Time(double timeS) => (Math.Round(timeS, 6) + 0.0).ToString("0.######", CultureInfo.InvariantCulture);

    private static string Number(double value) => double.IsFinite(value) ? value.ToString("G9", CultureInfo.InvariantCulture) : "";
}
