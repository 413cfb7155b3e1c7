using System.Text.Json;
using Acquire.Results.Bodies;
using Acquire.Service.Commands;

namespace Acquire.Service.Bodies;

/// <summary>What <c>acquire rotor</c> found.</summary>
/// <param name="Rotor">The body; null where only an inertia was measured.</param>
/// <param name="Rpm">The speed for rim speed and stress, turns a minute.</param>
/// <param name="Changed">The body after <c>--what-if</c>; null where nothing was to be changed.</param>
/// <param name="Measured">The inertia by spin-downs with and without a ring; null where there are none.</param>
/// <param name="Warnings">What is odd.</param>
internal sealed record RotorAnswer(Rotor? Rotor, double Rpm, Rotor? Changed, MeasuredInertia? Measured, IReadOnlyList<string> Warnings)
{
    /// <summary>What <c>--what-if</c> is judged by, with its number and the factor to the unit of its name.</summary>
    public static readonly IReadOnlyList<(string Label, string Key, Func<Rotor, double, double> Of)> Quantities =
    [
        ("mass", "massKg", (r, _) => r.MassKg),
        ("inertia, axis", "inertiaAxisKgM2", (r, _) => r.InertiaAxisKgM2),
        ("inertia, tip", "inertiaTipKgM2", (r, _) => r.InertiaTipKgM2),
        ("centre height", "centreHeightM", (r, _) => r.CentreHeightM),
        ("topple speed", "toppleRpm", (r, _) => r.ToppleRpm),
        ("rim speed", "rimSpeedMS", (r, rpm) => r.RimSpeedMS(rpm)),
        ("rim stress", "rimStressPa", (r, rpm) => PartStress.OfAll(r, rpm)[0].StressPa),
    ];

    /// <summary>By how much a quantity changes, percent; NaN where it was nothing before.</summary>
    public static double Percent(double before, double after) => before == 0 ? double.NaN : 100 * ((after / before) - 1);

    /// <summary>Writes it as JSON.</summary>
    public void WriteJson(TextWriter output) => JsonAnswer.Write(output, writer =>
    {
        writer.WriteStartObject();
        if (Rotor is not null)
            WriteRotor(writer, Rotor);
        if (Changed is not null)
            WriteChanged(writer, Rotor!, Changed);
        if (Measured is not null)
            WriteMeasured(writer, Measured);
        writer.WriteStartArray("warnings");
        foreach (string warning in Warnings)
            writer.WriteStringValue(warning);
        writer.WriteEndArray();
        writer.WriteEndObject();
    });

    private void WriteRotor(Utf8JsonWriter writer, Rotor rotor)
    {
        foreach ((_, string key, Func<Rotor, double, double> of) in Quantities)
            writer.WriteNumber(key, of(rotor, Rpm));
        writer.WriteNumber("rpm", Rpm);
        writer.WriteNumber("outerRadiusM", rotor.OuterRadiusM);
        writer.WriteNumber("uMassKg", rotor.UMassKg);
        writer.WriteNumber("uInertiaAxisKgM2", rotor.UInertiaAxisKgM2);
        writer.WriteStartArray("parts");
        IReadOnlyList<PartStress> stresses = PartStress.OfAll(rotor, Rpm);
        foreach (RotorPart part in rotor.Parts)
        {
            PartStress stress = stresses.First(s => ReferenceEquals(s.Part, part));
            writer.WriteStartObject();
            writer.WriteString("name", part.Name);
            writer.WriteString("material", part.Stuff.Name);
            writer.WriteNumber("densityKgM3", part.Stuff.DensityKgM3);
            writer.WriteNumber("massKg", part.Mass.Amount);
            writer.WriteNumber("inertiaAxisKgM2", part.Mass.Radial);
            writer.WriteNumber("speedMS", stress.SpeedMS);
            writer.WriteNumber("stressPa", stress.StressPa);
            writer.WriteNumber("strengthPa", part.Stuff.StrengthPa, orNull: true);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private void WriteChanged(Utf8JsonWriter writer, Rotor before, Rotor after)
    {
        writer.WriteStartObject("whatIf");
        foreach ((_, string key, Func<Rotor, double, double> of) in Quantities)
            writer.WriteNumber(key, of(after, Rpm));
        writer.WriteStartObject("changePercent");
        foreach ((_, string key, Func<Rotor, double, double> of) in Quantities)
            writer.WriteNumber(key, Percent(of(before, Rpm), of(after, Rpm)), orNull: true);
        writer.WriteEndObject();
        writer.WriteEndObject();
    }

    private static void WriteMeasured(Utf8JsonWriter writer, MeasuredInertia measured)
    {
        RingInertia all = measured.Whole;
        writer.WriteStartObject("measured");
        writer.WriteNumber("inertiaAxisKgM2", all.InertiaKgM2);
        writer.WriteNumber("uInertiaAxisKgM2", all.UInertiaKgM2);
        writer.WriteNumber("lowKgM2", all.LowKgM2);
        writer.WriteNumber("highKgM2", all.HighKgM2, orNull: true);
        writer.WriteNumber("timeRatio", all.Ratio);
        writer.WriteNumber("ringInertiaKgM2", measured.RingKgM2);
        writer.WriteNumber("uRingInertiaKgM2", measured.URingKgM2);
        writer.WriteStartArray("bands");
        foreach (RingBand band in measured.Bands)
        {
            writer.WriteStartObject();
            writer.WriteNumber("fromRpm", band.FromRpm);
            writer.WriteNumber("toRpm", band.ToRpm);
            writer.WriteNumber("withoutS", band.WithoutS);
            writer.WriteNumber("withS", band.WithS);
            writer.WriteNumber("inertiaAxisKgM2", band.Inertia?.InertiaKgM2 ?? double.NaN, orNull: true);
            writer.WriteNumber("uInertiaAxisKgM2", band.Inertia?.UInertiaKgM2 ?? double.NaN, orNull: true);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }
}
