using System.Globalization;
using System.Text.Json;
using Acquire.Results.Planning;
using Acquire.Service.Plans;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary>A plan as JSON.</summary>
internal static class PlanJson
{
    /// <summary>Writes a plan that was made, with what its repeats rest on.</summary>
    public static void WriteMade(Utf8JsonWriter writer, PlanSheet sheet, string file, int seed, PlanRepeats plan, SpeedRange range)
    {
        writer.WriteStartObject();
        Head(writer, sheet, file);
        writer.WriteNumber("seed", seed);
        writer.WriteNumber("setups", sheet.Rows.Count / plan.Repeats);
        writer.WriteNumber("repeats", plan.Repeats);
        writer.WriteNumber("fromRpm", range.FromRpm);
        writer.WriteNumber("toRpm", range.ToRpm);
        writer.WriteNumber("powerPercent", 100 * plan.Power);
        writer.WriteNumber("alphaPercent", 100 * plan.Level);
        Scatter(writer, plan);
        writer.WriteNumber("smallestShownPercent", plan.SmallestShownPercent, orNull: true);
        Needed(writer, plan.Needed);
        writer.WriteStartArray("rows");
        foreach (PlanRow row in sheet.Rows)
        {
            writer.WriteStartObject();
            Row(writer, row);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    /// <summary>Writes how far a plan is done.</summary>
    public static void WriteProgress(Utf8JsonWriter writer, PlanProgress progress, string file)
    {
        writer.WriteStartObject();
        Head(writer, progress.Sheet, file);
        writer.WriteNumber("runs", progress.Rows.Count);
        writer.WriteNumber("done", progress.Done);
        if (progress.Next is { } next) writer.WriteNumber("next", next.Row.Row);
        else writer.WriteNull("next");
        writer.WriteStartArray("rows");
        foreach (PlanRowProgress row in progress.Rows)
        {
            writer.WriteStartObject();
            Row(writer, row.Row);
            writer.WriteString("run", row.Good?.Name);
            writer.WriteStartArray("spoilt");
            foreach ((PlannedRun run, string? why) in row.Runs.Where(r => r.Why is not null))
            {
                writer.WriteStartObject();
                writer.WriteString("run", run.Name);
                writer.WriteString("why", why);
                writer.WriteEndObject();
            }

            writer.WriteEndArray();
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Head(Utf8JsonWriter writer, PlanSheet sheet, string file)
    {
        writer.WriteString("file", file);
        writer.WriteString("plan", sheet.Id);
        writer.WriteNumber("blocks", sheet.Blocks);
    }

    private static void Scatter(Utf8JsonWriter writer, PlanRepeats plan)
    {
        if (plan.Scatter is not { } scatter)
        {
            writer.WriteNull("scatter");
            return;
        }

        writer.WriteStartObject("scatter");
        writer.WriteString("from", plan.Library is null ? "option" : "library");
        writer.WriteNumber("percent", 100 * scatter.Sd);
        writer.WriteNumber("lowPercent", 100 * scatter.LowSd);
        writer.WriteNumber("highPercent", 100 * scatter.HighSd);
        writer.WriteNumber("degreesOfFreedom", scatter.DegreesOfFreedom, orNull: true);
        writer.WriteEndObject();
    }

    private static void Needed(Utf8JsonWriter writer, RepeatsNeeded? needed)
    {
        if (needed is null)
        {
            writer.WriteNull("detect");
            return;
        }

        writer.WriteStartObject("detect");
        writer.WriteNumber("percent", 100 * (Math.Exp(needed.Difference) - 1));
        Number(writer, "repeatsIfScatterIsExact", needed.AsItIs);
        Number(writer, "repeatsByStudent", needed.ByStudent);
        Number(writer, "lowRepeats", needed.AtLeast);
        Number(writer, "highRepeats", needed.AtMost);
        writer.WriteEndObject();
    }

    private static void Number(Utf8JsonWriter writer, string name, int? value)
    {
        if (value is { } n) writer.WriteNumber(name, n);
        else writer.WriteNull(name);
    }

    private static void Row(Utf8JsonWriter writer, PlanRow row)
    {
        writer.WriteNumber("row", row.Row);
        writer.WriteNumber("block", row.Block);
        writer.WriteStartObject("setup");
        foreach ((string key, string value) in row.Setup)
        {
            if (PlanRow.IsText(key)) writer.WriteString(key, value);
            else if (value.Length > 0) writer.WriteNumber(key, double.Parse(value, CultureInfo.InvariantCulture));
            else writer.WriteNull(key);
        }

        writer.WriteEndObject();
    }
}
