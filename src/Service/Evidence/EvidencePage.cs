using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Acquire.Acquisition.Clock;
using Acquire.Recording;
using Acquire.Service.Display;
using Acquire.Service.Reports;
using Acquire.Service.Runs;

namespace Acquire.Service.Evidence;

/// <summary>The evidence of a run as one file: a page for people with its figures for programs inside.</summary>
internal static class EvidencePage
{
    /// <summary>Name of the part that programs read.</summary>
    public const string PartName = "acquire-evidence";

    /// <summary>What stands before the page's own hash, which is taken with zeros in its place.</summary>
    public const string HashKey = "\"pageSha256\":\"";

    /// <summary>A hash in hexadecimal digits.</summary>
    public const int HashDigits = 64;

    private static readonly string[] Witness =
    [
        "That the body that spun is the one named, by mark, mass and size; that nothing drove it after the release: no air, no magnet, no hand, no current.",
        "Launch and fall by a watch or a film of their own, with the time of day: they bound the spin without any of this.",
        "How many marks the body bore, and that the sensor saw them and nothing else: the count of marks a turn scales every speed, though not the spin time.",
        "That the computer's clock was set right by the network or a receiver, and what it said beside another clock at the start and at the end.",
        "That the run's folder and this file were copied, or this file's hash written down, at once after the fall: from then on a change shows.",
        "That acquire verify, on a computer of the witness's own, finds this file and the copied folder to agree.",
    ];

    /// <summary>Makes the page.</summary>
    /// <param name="run">The run.</param>
    /// <param name="anew">What its marks say.</param>
    /// <param name="madeAt">Now.</param>
    public static byte[] Make(RunData run, MarksAnew anew, DateTimeOffset madeAt)
    {
        var report = new HtmlReport("Evidence of a spin: " + run.Name);
        report.Paragraph("One file that ties figures to files: sizes and hashes of the run's files, and what they say. acquire verify FILE checks each of them against the run, and this file against itself.");
        report.Paragraph("It is a check that all of it belongs together and was not changed since by accident or by another hand that did not change all of it alike. It is no signature: whoever made it could have made another. What it is worth rests on who copied it, and when.");
        report.Add(Figures(run, anew).Body);
        RunReport.Speed(report, run);
        RunReport.Losses(report, run);
        report.Section("How the time is defined");
        foreach (string line in Definition(run.Descriptor)) report.Paragraph(line);
        report.Section("Cautions");
        foreach (string caution in RunCautions.Of(run.Descriptor)) report.Paragraph(caution);
        report.Section("What a witness would check");
        foreach (string line in Witness) report.Paragraph(line);
        string zeros = new('0', HashDigits);
        report.Data(PartName, Json(run, anew, madeAt, zeros));
        string page = report.Text();
        string hash = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(page)));
        return Encoding.UTF8.GetBytes(page.Replace(HashKey + zeros, HashKey + hash, StringComparison.Ordinal));
    }

    /// <summary>The sections that state figures, set-up and files: made anew from the run, they must stand in the page to the letter.</summary>
    public static HtmlReport Figures(RunData run, MarksAnew anew)
    {
        var report = new HtmlReport("");
        report.Paragraph(RunReport.Headline(run.Descriptor));
        if (double.IsFinite(anew.AtLeastS))
        {
            report.Paragraph(Text($"Worked out anew from {anew.Marks:N0} marks: highest speed {anew.PeakRpm:F3} rpm at {anew.ReleaseS:F3} s, last mark at {anew.LastMarkS:F3} s after {anew.Turns:N1} turns. ")
                + Text($"Whatever is thought of its end, the spin lasted {Numbers.ClockTenths(anew.AtLeastS)} ({anew.AtLeastS:F3} s) at least: from the highest speed to the last mark seen."));
        }

        foreach ((string title, (string Label, string Value)[] facts) in RunText.Sections(run.Descriptor, run.Environment).Where(s => s.Facts.Length > 0))
            report.Section(ChangeWords.Sentence(title)).Table(["", ""], facts.Select(f => (string[])[f.Label, f.Value]));
        return report.Section("Files of the run").Table(["file", ">bytes", "SHA-256"], EvidenceFigures.Files(run.Folder).Select(f => (string[])[f.Path, f.Bytes.ToString(CultureInfo.InvariantCulture), f.Sha256]));
    }

    private static IEnumerable<string> Definition(RunDescriptor run)
    {
        yield return "Each pulse was stamped by its source's own counter. A time is the count since the run's first pulse, over the counter's nominal rate corrected by what the computer's clock showed of it: "
            + Text($"{run.Source.TickHz:#,0.###} a second, {Numbers.Measured(run.Clock.RatePpm, run.Clock.URatePpm)} ± {Numbers.Uncertainty(run.Clock.URatePpm)} ppm.");
        yield return run.Clock.HostClock == HostSynchronisation.Synchronised
            ? "The computer's clock was kept by others (synchronised) as the system says. Its rate is taken as right within the stated uncertainty."
            : "The computer's clock was not known to be kept by others: lengths of time are right to its own crystal, commonly within 100 ppm (0.1 s in 1,000 s), which is not in the stated uncertainty; the time of day may be wrong by any amount.";
        yield return "The spin begins at the release, where the speed is highest, and ends at the stop, where the body no longer turns upright about its axis as its marks tell. The spin time is the difference.";
        yield return "± is a standard uncertainty (k = 1); 95 % is 1.96 of it. Parts: the clock's rate over the spin, the moment of release, the moment of the stop; they are independent and add by their squares.";
    }

    private static string Json(RunData run, MarksAnew anew, DateTimeOffset madeAt, string hash)
    {
        using var buffer = new MemoryStream();
        using (var writer = new Utf8JsonWriter(buffer)) // its usual encoder leaves no < in it
        {
            writer.WriteStartObject();
            writer.WriteNumber("evidence", 1);
            writer.WriteString("pageSha256", hash);
            writer.WriteString("software", ProgramVersion.Software);
            writer.WriteString("madeAt", madeAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture));
            writer.WriteString("run", run.Name);
            writer.WriteStartArray("files");
            foreach (EvidenceFile file in EvidenceFigures.Files(run.Folder))
            {
                writer.WriteStartObject();
                writer.WriteString("path", file.Path);
                writer.WriteNumber("bytes", file.Bytes);
                writer.WriteString("sha256", file.Sha256);
                writer.WriteEndObject();
            }

            writer.WriteEndArray();
            writer.WriteStartObject("figures");
            foreach ((string name, object value) in EvidenceFigures.Of(run, anew))
            {
                if (value is double number && double.IsFinite(number)) writer.WriteNumber(name, number);
                else if (value is string text) writer.WriteString(name, text);
                else writer.WriteNull(name);
            }

            writer.WriteEndObject();
            writer.WriteEndObject();
        }

        return Encoding.UTF8.GetString(buffer.ToArray());
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
