using System.Text.Json;
using Acquire.Results;
using Acquire.Results.Losses;
using Acquire.Service.Commands;
using Acquire.Service.Display;

namespace Acquire.Service.Runs;

/// <summary>A spin-down as JSON.</summary>
internal static class SpindownJson
{
    private const double RadPerS = Math.PI / 30;

    /// <summary>Writes the document.</summary>
    public static void Write(Utf8JsonWriter writer, IReadOnlyList<SpindownRun> runs)
    {
        writer.WriteStartObject();
        writer.WriteStartArray("runs");
        foreach (SpindownRun run in runs) Write(writer, run);
        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter writer, SpindownRun run)
    {
        writer.WriteStartObject();
        writer.WriteString("run", run.Run.Name);
        Band(writer, run.Spin.Whole, "decayTimeS", "uDecayTimeS");
        writer.WriteStartArray("bands");
        foreach (BandTime band in run.Spin.Bands)
        {
            writer.WriteStartObject();
            Band(writer, band, "timeS", "uTimeS");
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteStartArray("gaps");
        foreach (SpinGap gap in run.Spin.Gaps)
        {
            writer.WriteStartObject();
            writer.WriteNumber("fromS", gap.FromS);
            writer.WriteNumber("toS", gap.ToS);
            writer.WriteNumber("fromRpm", gap.FromRpm);
            writer.WriteNumber("toRpm", gap.ToRpm);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        if (run.Spin.Law is { } law) Law(writer, law, run);
        else writer.WriteNull("law");
        if (run.Body is { } body) Torque(writer, body, run);
        writer.WriteEndObject();
    }

    private static void Band(Utf8JsonWriter writer, BandTime band, string time, string uTime)
    {
        writer.WriteNumber("fromRpm", band.Band.FromRpm);
        writer.WriteNumber("toRpm", band.Band.ToRpm);
        writer.WriteNumber(time, band.Time?.Seconds ?? double.NaN, orNull: true);
        writer.WriteNumber(uTime, band.Time?.USeconds ?? double.NaN, orNull: true);
        writer.WriteNumber("decelerationRpmS", band.DecelRpmPerS, orNull: true);
        writer.WriteNumber("uDecelerationRpmS", band.UDecelRpmPerS, orNull: true);
    }

    private static void Law(Utf8JsonWriter writer, FittedLaw law, SpindownRun run)
    {
        writer.WriteStartObject("law");
        writer.WriteNumber("omegaRef", LossLaw.OmegaRefRadPerS);
        writer.WriteStartArray("terms");
        foreach (LawTerm term in law.Law.Terms)
        {
            writer.WriteStartObject();
            writer.WriteNumber("exponent", term.Exponent);
            writer.WriteNumber("coefficient", term.Coefficient);
            writer.WriteNumber("uCoefficient", law.Coefficient(term.Exponent).U);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteStartArray("correlations");
        for (int i = 0; i < law.Law.Terms.Count; i++)
            Numbers(writer, Enumerable.Range(0, law.Law.Terms.Count).Select(j => law.Correlation(i, j)));
        writer.WriteEndArray();
        writer.WriteStartArray("undecided");
        foreach (IReadOnlyList<double> group in law.Groups.Where(g => g.Count > 1)) Numbers(writer, group);
        writer.WriteEndArray();
        Alternatives(writer, law);
        Shares(writer, law, run);
        writer.WriteNumber("fitFromRpm", law.Data.FirstRadPerS / RadPerS);
        writer.WriteNumber("fitToRpm", law.Data.LastRadPerS / RadPerS);
        writer.WriteNumber("data", law.Data.Marks);
        writer.WriteNumber("strays", law.Data.Strays);
        writer.WriteNumber("longRunVariance", law.Data.Colour);
        writer.WriteEndObject();
    }

    private static void Alternatives(Utf8JsonWriter writer, FittedLaw law)
    {
        writer.WriteStartArray("alternatives");
        for (int i = 0; i < law.Candidates.Count; i++)
        {
            writer.WriteStartObject();
            writer.WriteStartArray("exponents");
            foreach (LawTerm term in law.Candidates[i].Law.Terms) writer.WriteNumberValue(term.Exponent);
            writer.WriteEndArray();
            writer.WriteNumber("weight", law.Weight(i));
            writer.WriteNumber("criterionBehind", law.Candidates[i].Behind);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private static void Shares(Utf8JsonWriter writer, FittedLaw law, SpindownRun run)
    {
        writer.WriteStartArray("shares");
        foreach (double rpm in SpindownText.ShareSpeeds(run))
        {
            foreach (IReadOnlyList<double> group in law.Groups)
            {
                Estimate share = law.Share(group, rpm * RadPerS);
                writer.WriteStartObject();
                writer.WriteNumber("rpm", rpm);
                writer.WritePropertyName("exponents");
                Numbers(writer, group);
                writer.WriteNumber("share", share.Value);
                writer.WriteNumber("uShare", share.U);
                writer.WriteEndObject();
            }
        }

        writer.WriteEndArray();
    }

    private static void Torque(Utf8JsonWriter writer, DragBody body, SpindownRun run)
    {
        writer.WriteStartArray("torque");
        foreach (double rpm in SpindownText.Speeds(run))
        {
            DragBody.Row row = body.At(rpm, run.Deceleration(rpm));
            writer.WriteStartObject();
            writer.WriteNumber("rpm", rpm);
            writer.WriteNumber("torqueNm", row.TorqueNm.Value, orNull: true);
            writer.WriteNumber("uTorqueNm", row.TorqueNm.U, orNull: true);
            writer.WriteNumber("powerW", row.PowerW, orNull: true);
            writer.WriteNumber("reynolds", row.Disc.Reynolds);
            writer.WriteString("discFlow", LossWords.Of(row.Disc.Flow));
            writer.WriteNumber("discTorqueNm", row.DiscTorqueNm);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private static void Numbers(Utf8JsonWriter writer, IEnumerable<double> values)
    {
        writer.WriteStartArray();
        foreach (double value in values) writer.WriteNumberValue(value);
        writer.WriteEndArray();
    }
}
