using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Display;
using Acquire.Service.Plots;
using Acquire.Service.Runs;
using ScottPlot;

namespace Acquire.Service.Reports;

/// <summary>Spin-downs as a page.</summary>
internal static class SpindownReport
{
    /// <summary>Writes the page.</summary>
    public static void Write(string file, IReadOnlyList<SpindownRun> runs)
    {
        var report = new HtmlReport(runs.Count == 1 ? $"Spin-down of {runs[0].Run.Name}" : $"Spin-down of {runs.Count} runs");
        if (runs.Count > 1)
        {
            using Plot all = LossPlot.Make(runs);
            report.Picture("The fitted laws of all runs; bands are 95 % intervals.", (all, LossPlot.Rows));
        }

        foreach (SpindownRun run in runs)
        {
            report.Section(run.Run.Name).Paragraph(SpindownText.Headline(run)).Paragraph(Setup(run.Run.Descriptor));
            using Plot plot = LossPlot.Make([run]);
            report.Picture("Circles: the speed curve's own deceleration, bars its 95 %. Lines: the fitted law and its parts, bands their 95 %.", (plot, LossPlot.Rows));
            foreach (SpindownText.Part part in SpindownText.Parts(run))
            {
                report.Section(part.Title);
                if (part.Rows.Count > 0) report.Table(part.Headings, part.Rows);
                foreach (string note in part.Notes) report.Paragraph(note);
            }
        }

        report.Write(file);
    }

    private static string Setup(RunDescriptor run)
    {
        IEnumerable<string> words = new[] { ("top", run.Setup.Top), ("base", run.Setup.Base), ("cover", run.Setup.Cover), ("operator", run.Setup.Operator) }
            .Where(f => f.Item2.Length > 0).Select(f => $"{f.Item1} {f.Item2}")
            .Concat(run.Setup.Factors.Select(f => string.Create(CultureInfo.InvariantCulture, $"{f.Key} {f.Value}")))
            .Append("begun " + run.StartedAt.UtcDateTime.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture) + " UTC");
        return string.Join("; ", words) + ".";
    }
}
