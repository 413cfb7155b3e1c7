using System.Globalization;
using Acquire.Results.Bodies;
using Acquire.Service.Display;
using Spectre.Console;

namespace Acquire.Service.Bodies;

/// <summary>A body in words and tables.</summary>
internal static class RotorText
{
    private const int LabelColumns = 14;
    private const double GramsPerKg = 1000;
    private const double GCm2PerKgM2 = 1e7;

    /// <summary>Writes what was found to standard output.</summary>
    public static void Write(Surroundings surroundings, string title, RotorAnswer answer, string rpmWords)
    {
        IAnsiConsole console = Terminals.Make(surroundings.Out, surroundings.OutIsTerminal, surroundings);
        if (answer.Rotor is { } rotor)
        {
            console.Write(new Text(title + "\n", new Style(decoration: Decoration.Bold)));
            Body(console, rotor, answer.Rpm, rpmWords);
            console.WriteLine();
            Parts(surroundings, rotor, answer.Rpm);
            Cautions(console, PartStress.OfAll(rotor, answer.Rpm));
            if (answer.Changed is { } changed)
                Changed(surroundings, console, rotor, changed, answer.Rpm);
        }

        if (answer.Measured is { } measured)
            Measured(surroundings, console, measured, answer.Rotor);
        surroundings.Out.Flush();
    }

    /// <summary>Writes the table of materials.</summary>
    public static void WriteMaterials(Surroundings surroundings)
    {
        var table = new TextTable("material", "g/cm³", "strength MPa", "source");
        foreach (Material m in Materials.All)
            table.Add(m.Name, Text($"{m.LowKgM3 / 1000:0.00#}-{m.HighKgM3 / 1000:0.00#}"), Text($"{m.LowMPa:0.#}-{m.HighMPa:0.#}"), m.Source);
        table.Write(surroundings);
        surroundings.Out.WriteLine();
        surroundings.Out.WriteLine(Wrapped("Strength: yield, or tensile strength of what breaks without yielding; wood across the grain, prints between layers. No copy of a source was seen: weigh a part, and rely on a test of your own, rather than on these."));
        surroundings.Out.Flush();
    }

    private static void Body(IAnsiConsole console, Rotor rotor, double rpm, string rpmWords)
    {
        Fact(console, "mass", WithUncertainty(rotor.MassKg * GramsPerKg, rotor.UMassKg * GramsPerKg, "g"));
        Fact(console, "inertia, axis", WithUncertainty(rotor.InertiaAxisKgM2 * GCm2PerKgM2, rotor.UInertiaAxisKgM2 * GCm2PerKgM2, "g cm²") + Text($" ({rotor.InertiaAxisKgM2:0.####e-0} kg m²)"));
        Fact(console, "inertia, tip", Text($"{Four(rotor.InertiaTipKgM2 * GCm2PerKgM2)} g cm², about a line through the tip square to the axis"));
        Fact(console, "centre", Text($"{rotor.CentreHeightM * 1000:F2} mm above the tip"));
        Fact(console, "topple speed", rotor.ToppleRpm > 0 ? Text($"{rotor.ToppleRpm:F1} rpm: upright on a sharp tip it stands above, not below") : "none: its centre hangs below the tip");
        Fact(console, "rim speed", Text($"{rotor.RimSpeedMS(rpm):F1} m/s at {rotor.OuterRadiusM * 1000:F1} mm and {rpmWords}"));
    }

    private static void Parts(Surroundings surroundings, Rotor rotor, double rpm)
    {
        var table = new TextTable("part", "material", "g/cm³", "g", "of inertia", "MPa", "of strength");
        table.AlignRight("g/cm³", "g", "of inertia", "MPa", "of strength");
        IReadOnlyList<PartStress> stresses = PartStress.OfAll(rotor, rpm);
        foreach (RotorPart part in rotor.Parts)
        {
            PartStress stress = stresses.First(s => ReferenceEquals(s.Part, part));
            string share = double.IsNaN(stress.ShareOfStrength) ? "not known" : Percent(stress.ShareOfStrength);
            table.Add(part.Name, part.Stuff.Name, Text($"{part.Stuff.DensityKgM3 / 1000:F2}"), Numbers.Measured(part.Mass.Amount * GramsPerKg, double.NaN),
                Text($"{100 * part.Mass.Radial / rotor.InertiaAxisKgM2:F1} %"), Numbers.Measured(stress.StressPa * 1e-6, double.NaN), share);
        }

        table.Write(surroundings);
    }

    private static void Cautions(IAnsiConsole console, IReadOnlyList<PartStress> stresses)
    {
        PartStress rim = stresses[0];
        console.WriteLine();
        console.WriteLine(Wrapped(Text($"Rim stress, an upper estimate for '{rim.Part.Name}' by itself: {Numbers.Measured(rim.StressPa * 1e-6, double.NaN)} MPa ({Kind(rim.Kind)}). It does not hold for parts that press on each other, joints, notches, holes off the axis, spokes or flaws. Strength is that of the weakest common kind.")));
        if (stresses.Where(s => s.ShareOfStrength > 0.1).MaxBy(s => s.ShareOfStrength) is { } worst)
            console.WriteLine(Wrapped(Text($"'{worst.Part.Name}' comes to {100 * worst.ShareOfStrength:0} % of the strength of the weakest kind of {(worst.Part.Stuff.Name.Length > 0 ? worst.Part.Stuff.Name : "its material")}: too near to spin it on this estimate. Stress grows as the square of the speed.")));
        console.WriteLine(Wrapped("Caution: a body that bursts throws its parts like shot. Spin it behind a guard that would stop them, eyes and hands out of its plane. Printed parts, glued joints, wood and castings can be far weaker than any table says. For anything beyond a hand-spun top, local codes and someone licensed to judge rotating machinery come before this estimate."));
    }

    private static void Changed(Surroundings surroundings, IAnsiConsole console, Rotor before, Rotor after, double rpm)
    {
        console.WriteLine();
        console.MarkupLine("[bold]what if[/]");
        var table = new TextTable("quantity", "before", "after", "change", "unit");
        table.AlignRight("before", "after", "change");
        foreach ((string label, string key, Func<Rotor, double, double> of) in RotorAnswer.Quantities)
        {
            (double factor, string unit) = Unit(key);
            (double was, double becomes) = (of(before, rpm), of(after, rpm));
            double percent = RotorAnswer.Percent(was, becomes);
            table.Add(label, Four(was * factor), Four(becomes * factor), double.IsNaN(percent) ? Numbers.None : Text($"{(percent > 0 ? "+" : "")}{percent:F2} %"), unit);
        }

        table.Write(surroundings);
    }

    private static void Measured(Surroundings surroundings, IAnsiConsole console, MeasuredInertia measured, Rotor? rotor)
    {
        RingInertia all = measured.Whole;
        if (rotor is not null)
            console.WriteLine();
        console.MarkupLine("[bold]inertia by spins without and with the ring[/]");
        Fact(console, "ring", WithUncertainty(measured.RingKgM2 * GCm2PerKgM2, measured.URingKgM2 * GCm2PerKgM2, "g cm²"));
        Fact(console, "time ratio", Text($"{all.Ratio:F5} ± {all.Ratio * all.ULnRatio:F5}"));
        Fact(console, "inertia, axis", WithUncertainty(all.InertiaKgM2 * GCm2PerKgM2, all.UInertiaKgM2 * GCm2PerKgM2, "g cm²") + Text($" ({all.InertiaKgM2:0.####e-0} kg m²)"));
        Fact(console, "95 %", double.IsInfinity(all.HighKgM2)
            ? Text($"{Four(all.LowKgM2 * GCm2PerKgM2)} g cm² and more: the times hardly differ")
            : Text($"{Four(all.LowKgM2 * GCm2PerKgM2)} to {Four(all.HighKgM2 * GCm2PerKgM2)} g cm²"));
        if (rotor is not null)
            Fact(console, "by the file", Text($"{Four(rotor.InertiaAxisKgM2 * GCm2PerKgM2)} g cm², {RotorAnswer.Percent(all.InertiaKgM2, rotor.InertiaAxisKgM2):+0.00;-0.00} % of what was measured"));
        if (measured.Bands.Count > 0)
        {
            console.WriteLine();
            Bands(surroundings, measured.Bands);
        }

        console.WriteLine();
        if (!all.ShowsRepeatability)
            console.WriteLine(Wrapped("One spin of a kind does not show how well spins repeat, which is mostly more than what is stated: spin each twice or more."));
        console.WriteLine(Wrapped("The ring also loads the tip, and changes the air's drag where it sticks out. More friction at the tip makes the inertia come out too large" + ByTip(measured, rotor) + "." + (measured.Bands.Count > 0 ? " A trend along the bands is a sign of either." : "")));
    }

    private static string ByTip(MeasuredInertia measured, Rotor? rotor)
    {
        const double Share = 0.1;
        if (rotor is null)
            return "";
        double with = measured.Whole.WithTipFriction(measured.RingKgM2, measured.RingKg / rotor.MassKg, Share);
        return Text($": were a tenth of the loss friction that grows with the weight, it would be {Four(with * GCm2PerKgM2)} g cm²");
    }

    private static void Bands(Surroundings surroundings, IReadOnlyList<RingBand> bands)
    {
        var table = new TextTable("rpm", "without s", "with s", "g cm²", "± (k=1)");
        table.AlignRight("without s", "with s", "g cm²", "± (k=1)");
        foreach (RingBand band in bands)
        {
            (double value, double u) = band.Inertia is { } i ? (i.InertiaKgM2 * GCm2PerKgM2, i.UInertiaKgM2 * GCm2PerKgM2) : (double.NaN, double.NaN);
            table.Add(Text($"{band.FromRpm:0.#}-{band.ToRpm:0.#}"), Text($"{band.WithoutS:F2}"), Text($"{band.WithS:F2}"), Numbers.Measured(value, u), Numbers.Uncertainty(u));
        }

        table.Write(surroundings);
    }

    private static string Percent(double share) => share < 1e-4 ? "<0.01 %" : Text($"{100 * share:0.##} %");

    private static string Kind(StressKind kind) => kind switch
    {
        StressKind.Solid => "solid disc, (3+ν)/8 ρv²",
        StressKind.Annulus => "disc or ring with a hole, ρω²/4 [(3+ν)b² + (1-ν)a²], ρv² where thin",
        _ => "heavy rim on a thin web, ρv²/(1-ν)",
    };

    private static (double Factor, string Unit) Unit(string key) => key switch
    {
        "massKg" => (GramsPerKg, "g"),
        "inertiaAxisKgM2" or "inertiaTipKgM2" => (GCm2PerKgM2, "g cm²"),
        "centreHeightM" => (1000, "mm"),
        "toppleRpm" => (1, "rpm"),
        "rimSpeedMS" => (1, "m/s"),
        _ => (1e-6, "MPa"),
    };

    private static void Fact(IAnsiConsole console, string label, string value) =>
        console.MarkupLine($"  [grey]{Markup.Escape(label.PadRight(LabelColumns))}[/] {Markup.Escape(Lines.OneLine(value))}");

    private static string WithUncertainty(double value, double u, string unit) =>
        u > 0 ? $"{Numbers.Measured(value, u)} ± {Numbers.Uncertainty(u)} {unit}" : $"{Four(value)} {unit}";

    // Four digits, whatever the size.
    private static string Four(double value) => Math.Abs(value) is >= 1 or 0 ? Numbers.Measured(value, double.NaN) : value.ToString("G4", CultureInfo.InvariantCulture);

    private static string Wrapped(string text)
    {
        const int Columns = 80;
        var lines = new List<string> { "" };
        foreach (string word in text.Split(' '))
        {
            if (lines[^1].Length > 0 && lines[^1].Length + 1 + word.Length > Columns)
                lines.Add("");
            lines[^1] = lines[^1].Length == 0 ? word : lines[^1] + " " + word;
        }

        return string.Join('\n', lines);
    }

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
