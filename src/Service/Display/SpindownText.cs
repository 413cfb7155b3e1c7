using System.Globalization;
using Acquire.Results;
using Acquire.Results.Best;
using Acquire.Results.Losses;
using Acquire.Service.Runs;
using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>A spin-down in words and tables; the page and the terminal show the same.</summary>
internal static class SpindownText
{
    private const double RadPerS = Math.PI / 30;

    /// <summary>A table: its headings, <c>&gt;</c> before one sets numbers flush right, and rows.</summary>
    /// <param name="Title">What it shows.</param>
    /// <param name="Headings">The headings.</param>
    /// <param name="Rows">The rows.</param>
    /// <param name="Notes">What belongs below.</param>
    public sealed record Part(string Title, string[] Headings, IReadOnlyList<string[]> Rows, IReadOnlyList<string> Notes);

    /// <summary>Writes a run to standard output.</summary>
    public static void Write(Surroundings surroundings, SpindownRun run)
    {
        IAnsiConsole console = Terminals.Make(surroundings.Out, surroundings.OutIsTerminal, surroundings);
        console.Write(new Text(run.Run.Name + "\n", new Style(decoration: Decoration.Bold)));
        console.WriteLine(Lines.OneLine(Headline(run)));
        foreach (Part part in Parts(run))
        {
            console.WriteLine();
            console.Write(new Text(part.Title + "\n", new Style(decoration: Decoration.Bold)));
            if (part.Rows.Count > 0)
            {
                var table = new TextTable([.. part.Headings.Select(h => h.TrimStart('>'))]);
                table.AlignRight([.. part.Headings.Where(h => h.StartsWith('>')).Select(h => h[1..])]);
                foreach (string[] row in part.Rows) table.Add(row);
                table.Write(surroundings);
            }

            foreach (string note in part.Notes) console.WriteLine(note);
        }

        console.WriteLine();
    }

    /// <summary>The decay time in a line.</summary>
    public static string Headline(SpindownRun run)
    {
        BandTime whole = run.Spin.Whole;
        DecayTime time = whole.Time!;
        return Text($"{whole.Band.FromRpm:0.##} to {whole.Band.ToRpm:0.##} rpm in {Numbers.ClockTenths(time.Seconds)}: {Measured(time.Seconds, time.USeconds)} s, mean {Figure(whole.DecelRpmPerS)} rpm/s");
    }

    /// <summary>The tables of a run.</summary>
    public static IEnumerable<Part> Parts(SpindownRun run)
    {
        yield return Bands(run);
        yield return run.Spin.Law is { } law ? Law(law, run) : new Part("loss law", [], [], ["None could be fitted: too few marks, or none of the laws explains them."]);
        if (run.Body is { } body) yield return Torque(body, run);
    }

    private static Part Bands(SpindownRun run) => new(
        "time in each band",
        [">from/rpm", ">to/rpm", ">time/s", ">±", ">share/%", ">mean rpm/s", ">±"],
        [.. run.Spin.Bands.Select(b => new[]
        {
            Number(b.Band.FromRpm), Number(b.Band.ToRpm),
            b.Time is null ? "lost" : Numbers.Measured(b.Time.Seconds, b.Time.USeconds),
            b.Time is null ? "" : Numbers.Uncertainty(b.Time.USeconds),
            b.Time is null ? "" : Text($"{100 * b.Time.Seconds / run.Spin.Whole.Time!.Seconds:0.0}"),
            b.Time is null ? "" : Figure(b.DecelRpmPerS), b.Time is null ? "" : Small(b.UDecelRpmPerS),
        })],
        ["± is a standard uncertainty (k = 1), the clock's in it.", .. run.Spin.Gaps.Select(g => "The signal was lost within: " + SpindownRun.Words(g) + ".")]);

    private static Part Law(FittedLaw law, SpindownRun run)
    {
        double[] speeds = ShareSpeeds(run);
        return new Part(
            "loss law: deceleration by what grows with which power of speed",
            ["power", "stands for", ">a/(rad/s²)", ">±", .. speeds.Select(s => Text($">% at {s:0}"))],
            [.. law.Groups.Select(g => (string[])
            [
                LossWords.Powers(g), LossWords.Of(g), .. Coefficient(law, g), .. speeds.Select(s => Share(law.Share(g, s * RadPerS))),
            ])],
            ["a: deceleration by the term at 1000 rpm. %: its share at a speed in rpm, ± k = 1.", .. LossWords.Undecided(law), Basis(law, run.Run.HasMarks ? "marks" : "speeds")]);
    }

    /// <summary>The speeds at which shares are told: the ends, and the middle by ratio, in round numbers.</summary>
    public static double[] ShareSpeeds(SpindownRun run)
    {
        SpeedBand band = run.Spin.Whole.Band;
        double middle = Math.Sqrt(band.FromRpm * band.ToRpm);
        double power = Math.Pow(10, Math.Floor(Math.Log10(middle)) - 1);
        return [band.FromRpm, Math.Round(middle / power) * power, band.ToRpm];
    }

    private static string Basis(FittedLaw law, string what)
    {
        LawData data = law.Data;
        string colour = data.Colour > 2 ? Text($" What it leaves of them is not white (long-run variance {(data.Colour > 1000 ? "over 1000" : Text($"{data.Colour:0}"))} times that of neighbours); the ± allow for it.") : "";
        string strays = data.Strays > 0 ? Text($", {data.Strays:N0} left out as strays") : "";
        if (!SpinLimits.IsFollowed(law)) colour += " No law of these powers follows the spin wholly: trust the bands, and the circles in the picture.";
        return Text($"Fitted to {data.Marks:N0} {what} of the free spin, {data.FirstRadPerS / RadPerS:0} to {data.LastRadPerS / RadPerS:0} rpm{strays}.{colour}");
    }

    private static Part Torque(DragBody body, SpindownRun run)
    {
        DragBody.Row[] rows = [.. Speeds(run).Select(rpm => body.At(rpm, run.Deceleration(rpm)))];
        string where = body.ClearanceM is { } gap ? Text($"enclosed with {gap * 1000:0.##} mm on each side (Daily and Nece)") : "in free air (von Kármán)";
        return new Part(
            "torque and power, and a plain disc's drag beside them",
            [">rpm", ">torque/µN m", ">±", ">power/mW", ">Reynolds", ">disc/µN m", ">share/%", "disc's flow"],
            [.. rows.Select(r => new[]
            {
                Number(r.Rpm), Figure(r.TorqueNm.Value * 1e6), Small(r.TorqueNm.U * 1e6), Figure(r.PowerW * 1e3), Text($"{r.Disc.Reynolds:N0}"),
                Figure(r.DiscTorqueNm * 1e6), Text($"{100 * r.DiscTorqueNm / r.TorqueNm.Value:0}"), LossWords.Of(r.Disc.Flow),
            })],
            [
                Text($"Inertia {body.Rotor.InertiaAxisKgM2:G4} kg m², radius {body.Rotor.OuterRadiusM * 1000:0.##} mm; disc {where}, smooth and thin: a yardstick, no part of what was measured."),
                char.ToUpperInvariant(body.AirIs[0]) + body.AirIs[1..] + ".",
                .. Transition(body, rows),
            ]);
    }

    private static IEnumerable<string> Transition(DragBody body, DragBody.Row[] rows)
    {
        if (body.ClearanceM is null && rows.Any(r => r.Disc.Reynolds > 0.5 * DiscDrag.TransitionReynolds))
            yield return "In free air the layer turns turbulent at about Re = 300,000, sooner on a rough or shaken body.";
    }

    /// <summary>The speeds at which torque is told: the ends of the bands.</summary>
    public static IEnumerable<double> Speeds(SpindownRun run) => run.Spin.Bands.Select(b => b.Band.FromRpm).Append(run.Spin.Whole.Band.ToRpm);

    private static string[] Coefficient(FittedLaw law, IReadOnlyList<double> group)
    {
        Estimate a = group.Count == 1 ? law.Coefficient(group[0]) : law.Part(group, LossLaw.OmegaRefRadPerS);
        return [Figure(a.Value), Small(a.U)];
    }

    private static string Share(Estimate share) => 100 * share.U < 0.05
        ? Text($"{100 * share.Value:0.0} ± <0.1") : Text($"{100 * share.Value:0.0} ± {100 * share.U:0.0}");

    private static string Measured(double value, double u) => $"{Numbers.Measured(value, u)} ± {Numbers.Uncertainty(u)}";

    private static string Number(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    /// <summary>Four digits, whatever the size.</summary>
    private static string Figure(double value) => value == 0 || !double.IsFinite(value) ? "–" : value.ToString("F" + Math.Clamp(3 - (int)Math.Floor(Math.Log10(Math.Abs(value))), 0, 7), CultureInfo.InvariantCulture);

    private static string Small(double u) => !double.IsFinite(u) ? "–" : u == 0 ? "0" : u is >= 0.001 and < 10000
        ? u.ToString("F" + Math.Clamp(1 - (int)Math.Floor(Math.Log10(u)), 0, 6), CultureInfo.InvariantCulture) : u.ToString("0.#e0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
