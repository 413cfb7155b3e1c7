using System.Text.Json;
using Acquire.Results.Comparison;
using Acquire.Service.Display;

namespace Acquire.Service.Commands;

/// <summary>A comparison as JSON.</summary>
internal static class CompareJson
{
    /// <summary>Writes it.</summary>
    public static void Write(Utf8JsonWriter writer, RunComparison result)
    {
        writer.WriteStartObject();
        writer.WriteNumber("fromRpm", result.FromRpm);
        writer.WriteNumber("toRpm", result.ToRpm);
        writer.WriteNumber("baselineRuns", result.Baseline.Count);
        Names(writer, "baselineRunNames", result.Baseline.Select(r => r.Name));
        writer.WriteStartArray("variants");
        foreach (VariantResult variant in result.Variants) Write(writer, variant, result);
        writer.WriteEndArray();
        writer.WriteStartObject("repeatability");
        writer.WriteNumber("percent", 100 * result.Scatter.Sd, orNull: true);
        writer.WriteNumber("degreesOfFreedom", result.Scatter.DegreesOfFreedom);
        writer.WriteNumber("setups", result.Scatter.Groups);
        writer.WriteEndObject();
        writer.WriteBoolean("inReferenceAir", result.InReferenceAir);
        Reasons(writer, "outlying", result.Outlying);
        Reasons(writer, "leftOut", result.LeftOut);
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, VariantResult variant, RunComparison result)
    {
        writer.WriteStartObject();
        writer.WriteString("name", variant.Name);
        writer.WriteString("says", ChangeWords.Verdict(variant, result.FromRpm, result.ToRpm));
        writer.WriteNumber("runs", variant.Runs.Count);
        Names(writer, "runNames", variant.Runs.Select(r => r.Name));
        Interval(writer, variant.Change);
        writer.WriteNumber("pValue", variant.Change.P, orNull: true);
        writer.WriteNumber("pValueHolm", variant.AdjustedP, orNull: true);
        writer.WriteString("basis", Basis(variant.Change.Basis));
        if (variant.Permutation is { } p)
        {
            writer.WriteNumber("pPermutation", p.P);
            writer.WriteBoolean("permutationExact", p.IsExact);
        }

        writer.WriteNumber("smallestShownPercent", variant.SmallestShownPercent, orNull: true);
        if (variant.RunsNeeded is { } needed) writer.WriteNumber("runsNeededEach", needed);
        else writer.WriteNull("runsNeededEach");
        if (variant.PercentBeforeAir is { } before) writer.WriteNumber("changeAsSpunPercent", before);
        writer.WriteStartArray("bands");
        foreach (BandChange band in variant.Bands) Write(writer, band);
        writer.WriteEndArray();
        if (variant.WholeSpin is { } spin) Write(writer, spin);
        else writer.WriteNull("wholeSpin");
        Names(writer, "warnings", variant.Warnings);
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, BandChange band)
    {
        writer.WriteStartObject();
        writer.WriteNumber("fromRpm", band.FromRpm);
        writer.WriteNumber("toRpm", band.ToRpm);
        Interval(writer, band.Change);
        writer.WriteNumber("pValue", band.Change?.P ?? double.NaN, orNull: true);
        writer.WriteNumber("pValueHolm", band.AdjustedP, orNull: true);
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, WholeSpin spin)
    {
        writer.WriteStartObject("wholeSpin");
        writer.WriteNumber("startRpm", spin.StartRpm);
        writer.WriteNumber("endRpm", spin.EndRpm);
        Interval(writer, spin.Change);
        writer.WriteNumber("baselineS", spin.BaselineS);
        writer.WriteNumber("variantS", spin.VariantS);
        Names(writer, "extended", spin.Extended);
        writer.WriteEndObject();
    }

    /// <summary>Writes a change with its interval; null where there is none.</summary>
    public static void Interval(Utf8JsonWriter writer, Change? change)
    {
        writer.WriteNumber("changePercent", change?.Percent ?? double.NaN, orNull: true);
        writer.WriteNumber("lowPercent", change?.LowPercent ?? double.NaN, orNull: true);
        writer.WriteNumber("highPercent", change?.HighPercent ?? double.NaN, orNull: true);
    }

    /// <summary>Writes texts.</summary>
    public static void Names(Utf8JsonWriter writer, string key, IEnumerable<string> names)
    {
        writer.WriteStartArray(key);
        foreach (string name in names) writer.WriteStringValue(name);
        writer.WriteEndArray();
    }

    /// <summary>Writes runs with what is to be said of each.</summary>
    public static void Reasons(Utf8JsonWriter writer, string key, IEnumerable<(string Run, string Why)> runs)
    {
        writer.WriteStartArray(key);
        foreach ((string run, string why) in runs)
        {
            writer.WriteStartObject();
            writer.WriteString("run", run);
            writer.WriteString("why", why);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private static string Basis(ChangeBasis basis) => basis switch
    {
        ChangeBasis.OwnScatter => "scatter of these runs",
        ChangeBasis.LibraryScatter => "repeatability of the library",
        _ => "measurement only",
    };
}
