using System.Globalization;
using System.Text.RegularExpressions;

namespace Acquire.Service.Tests.Export;

/// <summary>A strict reader of WebVTT and SubRip, of its own: WebVTT by the W3C's syntax (section 4.1 of the Candidate Recommendation of 2019), as much of it as files
/// without settings, regions and styles need; SubRip as players read it.</summary>
internal static partial class VttFile
{
    internal sealed record Cue(double FromS, double ToS, string Text);

    /// <summary>Reads WebVTT; what breaks the syntax is an exception.</summary>
    public static List<Cue> ReadVtt(string text)
    {
        string[] lines = Lines(text);
        Require(lines[0] == "WEBVTT" && lines[1].Length == 0, "the file begins with WEBVTT and an empty line");
        return Blocks(lines[2..], 0, VttTimes());
    }

    /// <summary>Reads SubRip.</summary>
    public static List<Cue> ReadSrt(string text) => Blocks(Lines(text), 1, SrtTimes());

    private static string[] Lines(string text)
    {
        Require(!text.Contains('\r', StringComparison.Ordinal) && text.EndsWith('\n'), "lines end in LF");
        return text[..^1].Split('\n');
    }

    private static List<Cue> Blocks(string[] lines, int numbers, Regex times)
    {
        var cues = new List<Cue>();
        int at = 0;
        while (at < lines.Length)
        {
            if (numbers > 0) Require(lines[at++] == (cues.Count + 1).ToString(CultureInfo.InvariantCulture), "cues are numbered from 1");
            Match match = times.Match(lines[at++]);
            Require(match.Success, $"times in line {at}");
            string text = lines[at++];
            Require(text.Length > 0 && !text.Contains("-->", StringComparison.Ordinal) && !text.Contains('<', StringComparison.Ordinal) && !text.Contains('&', StringComparison.Ordinal), $"text in line {at}");
            Require(at == lines.Length || lines[at].Length == 0, $"an empty line after line {at}");
            at++;
            var cue = new Cue(Seconds(match, 1), Seconds(match, 5), text);
            Require(cue.ToS > cue.FromS && (cues.Count == 0 || cue.FromS >= cues[^1].ToS), $"cues in order and none over another, line {at}");
            cues.Add(cue);
        }

        return cues;
    }

    private static double Seconds(Match match, int group)
    {
        int Part(int i) => int.Parse(match.Groups[group + i].ValueSpan, CultureInfo.InvariantCulture);
        return (3600.0 * Part(0)) + (60 * Part(1)) + Part(2) + (Part(3) / 1000.0);
    }

    private static void Require(bool holds, string what)
    {
        if (!holds) throw new FormatException("not as it should be: " + what);
    }

    [GeneratedRegex(@"^([0-9]{2,}):([0-5][0-9]):([0-5][0-9])\.([0-9]{3})[ \t]+-->[ \t]+([0-9]{2,}):([0-5][0-9]):([0-5][0-9])\.([0-9]{3})$")]
    private static partial Regex VttTimes();

    [GeneratedRegex(@"^([0-9]{2,}):([0-5][0-9]):([0-5][0-9]),([0-9]{3}) --> ([0-9]{2,}):([0-5][0-9]):([0-5][0-9]),([0-9]{3})$")]
    private static partial Regex SrtTimes();
}
