using System.Globalization;
using Acquire.Service.Plans;

namespace Acquire.Service.Display;

/// <summary>How far a plan is done, for people.</summary>
internal static class PlanStatusText
{
    /// <summary>Writes it.</summary>
    public static void Write(PlanProgress progress, Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(FormattableString.Invariant($"Plan {progress.Sheet.Id}: {progress.Done} of {progress.Rows.Count} runs done"));
        output.WriteLine(Next(progress));
        output.WriteLine();
        CompareText.WriteTable(surroundings, [.. PlanText.Headings(progress.Sheet), "state", "run", "spin time", "spoilt before"], progress.Rows.Select(row => Cells(row, progress)));
        (PlanRow Row, PlannedRun Run, string Why)[] spoilt = [.. progress.Spoilt];
        if (spoilt.Length > 0)
        {
            output.WriteLine();
            output.WriteLine("Not counted:");
            foreach ((PlanRow row, PlannedRun run, string why) in spoilt) output.WriteLine(FormattableString.Invariant($"  row {row.Row}, {run.Name}: {why}"));
        }

        if (progress.Sheet.OtherColumns.Count > 0)
        {
            output.WriteLine();
            output.WriteLine("Columns that are not the plan's are passed over: " + string.Join(", ", progress.Sheet.OtherColumns));
        }

        output.Flush();
    }

    /// <summary>What comes next, in a line.</summary>
    public static string Next(PlanProgress progress) => progress.Next is { } next
        ? $"Next: {Row(progress.Sheet, next.Row)}{(next.Runs.Count > 0 ? ", again: " + next.Runs[^1].Why : "")}"
        : "All of its rows have a run that counts.";

    /// <summary>A row in words, such as <c>row 3 of 12 (block 1): cover=ring</c>.</summary>
    public static string Row(PlanSheet sheet, PlanRow row) => FormattableString.Invariant($"row {row.Row} of {sheet.Rows.Max(r => r.Row)} (block {row.Block}): {row.Words}");

    private static string[] Cells(PlanRowProgress row, PlanProgress progress) =>
    [
        .. PlanText.Cells(row.Row),
        row.Good is not null ? "done" : row == progress.Next ? "next" : row.Runs.Count > 0 ? "again" : "",
        row.Good?.Name ?? "",
        row.Good is { } good ? Numbers.ClockTenths(good.Run.Result.SpinTimeS) : "",
        row.Runs.Count(r => r.Why is not null) is > 0 and int spoilt ? spoilt.ToString(CultureInfo.InvariantCulture) : "",
    ];
}
