using System.Globalization;

namespace Acquire.Service.Export;

/// <summary>Captions as files for players and for ffmpeg.</summary>
internal static class CaptionText
{
    /// <summary>Writes WebVTT (W3C Candidate Recommendation, section 4: file structure).</summary>
    public static void WriteVtt(TextWriter output, IEnumerable<Caption> captions)
    {
        output.Write("WEBVTT\n");
        foreach (Caption caption in captions)
            output.Write($"\n{Time(caption.FromMs, '.')} --> {Time(caption.ToMs, '.')}\n{caption.Text}\n");
    }

    /// <summary>Writes SubRip: a number, the times with a decimal comma, the text, an empty line.</summary>
    public static void WriteSrt(TextWriter output, IEnumerable<Caption> captions)
    {
        int number = 0;
        foreach (Caption caption in captions)
            output.Write(string.Create(CultureInfo.InvariantCulture, $"{++number}\n{Time(caption.FromMs, ',')} --> {Time(caption.ToMs, ',')}\n{caption.Text}\n\n"));
    }

    private static string Time(long ms, char point) =>
        string.Create(CultureInfo.InvariantCulture, $"{ms / 3_600_000:00}:{ms / 60_000 % 60:00}:{ms / 1000 % 60:00}{point}{ms % 1000:000}");
}
