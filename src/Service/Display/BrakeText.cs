using System.Globalization;
using Acquire.Results.Braking;
using Acquire.Results.Statistics;

namespace Acquire.Service.Display;

/// <summary>A motor bench for people.</summary>
/// <param name="Bench">What it came to.</param>
/// <param name="WindingOhm">Resistance of the winding whose loss was taken off, Ω; 0 for none.</param>
/// <param name="Notes">What was left out of the sheets.</param>
internal sealed record BrakeText(BrakeBench Bench, double WindingOhm, IReadOnlyList<string> Notes)
{
    private const double RadPerSPerRpm = Math.PI / 30;

    /// <summary>Common cautions of a motor bench.</summary>
    public static readonly string[] Cautions =
    [
        "A body at speed on a motor can burst or come off and be thrown: a guard that would stop it, closed before the motor starts; nobody in the plane of rotation; eye protection. Raise the speed in steps, never beyond what the body was tried at behind that guard.",
        "A switch within reach that cuts the power, and a way to see that everything stands still before hands go near. No loose sleeves, hair or cables; couplings and clamps checked each time.",
        "Supply with a current limit, low voltage and a fuse; nothing of it joined to the mains by your own hand. A motor driven back by a heavy body feeds its supply: see that it bears that.",
        "Local codes, the rules of your workplace and people licensed for rotating machinery and mains wiring come before anything said here.",
    ];

    /// <summary>Headings of the table of readings.</summary>
    public static readonly string[] ReadingHeadings = ["configuration", ">readings", ">far off", ">no bare motor", "speeds/rpm"];

    /// <summary>What was worked out.</summary>
    public static string Title => "Braking torque beyond the bare motor";

    /// <summary>Factor and name of the unit in which torques are told.</summary>
    public (double Factor, string Name) Unit
    {
        get
        {
            double most = Bench.Curves.SelectMany(c => c.Points).Where(p => !p.Flagged).Select(p => Math.Abs(p.TorqueNm)).DefaultIfEmpty(1).Max();
            return most >= 1 ? (1, "N m") : most >= 1e-3 ? (1e3, "mN m") : (1e6, "µN m");
        }
    }

    /// <summary>Headings of the table of torque by speed.</summary>
    public string[] TorqueHeadings => [">rpm", .. Bench.Curves.Select(c => $">{c.Name}/{Unit.Name}"), .. Bench.Comparisons.Select(c => $">{c.Second.Name} brakes less by/{Unit.Name}")];

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(Title);
        output.WriteLine();
        foreach (string verdict in Verdicts()) output.WriteLine(verdict);
        output.WriteLine();
        CompareText.WriteTable(surroundings, TorqueHeadings, TorqueRows());
        output.WriteLine("± and intervals: 95 %.");
        output.WriteLine();
        CompareText.WriteTable(surroundings, ReadingHeadings, ReadingRows());
        CompareText.WriteRemarks(surroundings, Remarks());

        output.Flush();
    }

    /// <summary>A sentence for each configuration of which there is something to say.</summary>
    public IEnumerable<string> Verdicts() => Bench.Curves.Skip(Bench.Curves.Count > 1 && Bench.Curves[0].HasCurve ? 1 : 0).Select(c => $"{c.Name}: {Verdict(c)}.");

    /// <summary>What a configuration comes to.</summary>
    public string Verdict(BrakeCurve curve) =>
        !curve.HasCurve ? $"{curve.Points.Count(p => !p.Flagged)} readings count; a curve of torque needs {BrakeCurve.FewestReadings} or more, at three speeds"
        : Bench.Comparisons.FirstOrDefault(c => c.Second == curve) is { } told ? BrakeWords.Verdict(told, this)
        : Bench.Curves.Count > 1 && curve == Bench.Curves[0] ? "what the others are compared with"
        : $"brakes by {WithInterval(curve, curve.HighRadPerS)} at {Rpm(curve.HighRadPerS)} rpm";

    /// <summary>A row for each of a few speeds.</summary>
    public IEnumerable<string[]> TorqueRows() => Speeds().Select(w => (string[])
    [
        Rpm(w),
        .. Bench.Curves.Select(c => Within(c, w) ? $"{Number(c.TorqueNm(w).Value, Half(c, w))} ± {Numbers.Uncertainty(Unit.Factor * Half(c, w))}" : Numbers.None),
        .. Bench.Comparisons.Select(c => w >= c.FromRadPerS * 0.9999 && w <= c.ToRadPerS * 1.0001 ? Difference(c.At(w)) : Numbers.None),
    ]);

    /// <summary>A row for each configuration, the bare motor first.</summary>
    public IEnumerable<string[]> ReadingRows() =>
    [
        ["bare motor", Count(Bench.Bare.Readings.Count), Count(Bench.Bare.Flagged.Count(f => f)), Numbers.None, $"{Rpm(Bench.Bare.LowRadPerS)} to {Rpm(Bench.Bare.HighRadPerS)}"],
        .. Bench.Curves.Select(c => (string[])[c.Name, Count(c.Points.Count), Count(c.Far), Count(c.Outside), double.IsFinite(c.LowRadPerS) ? $"{Rpm(c.LowRadPerS)} to {Rpm(c.HighRadPerS)}" : Numbers.None]),
    ];

    /// <summary>What else is to be said, under headings.</summary>
    public IEnumerable<(string Heading, IReadOnlyList<string> Lines)> Remarks()
    {
        yield return ("How sure:", [.. HowSure()]);
        string[] left = [.. Flags()];
        if (left.Length > 0) yield return ("Not in the curves:", left);
        yield return ("Cautions:", Cautions);
    }

    /// <summary>A speed in whole rpm.</summary>
    public static string Rpm(double radPerS) => double.IsFinite(radPerS) ? (radPerS / RadPerSPerRpm).ToString("F0", CultureInfo.InvariantCulture) : Numbers.None;

    /// <summary>A torque in the unit, with the digits that the half width of its interval warrants.</summary>
    public string Number(double torqueNm, double halfNm) => Numbers.Measured(Unit.Factor * torqueNm, Unit.Factor * halfNm);

    /// <summary>A difference and its interval.</summary>
    public string Difference(BrakeDifference d) => $"{(d.LessNm < 0 ? "−" : "+")}{Number(Math.Abs(d.LessNm), d.HalfWidthNm)} ± {Numbers.Uncertainty(Unit.Factor * d.HalfWidthNm)}";

    /// <summary>Half the width of the 95 % interval of a curve's torque, N m.</summary>
    public static double Half(BrakeCurve curve, double radPerS) =>
        curve.TorqueNm(radPerS).U * Student.Quantile(0.5 + (BrakeComparison.Level / 2), curve.Scatter.Freedom);

    private string WithInterval(BrakeCurve curve, double w) => $"{Number(curve.TorqueNm(w).Value, Half(curve, w))} ± {Numbers.Uncertainty(Unit.Factor * Half(curve, w))} {Unit.Name}";

    private static bool Within(BrakeCurve curve, double w) => curve.HasCurve && w >= curve.LowRadPerS * 0.9999 && w <= curve.HighRadPerS * 1.0001;

    // The ends of what all were measured at, and round speeds between.
    private IEnumerable<double> Speeds()
    {
        const int About = 7;
        BrakeCurve[] curves = [.. Bench.Curves.Where(c => c.HasCurve)];
        if (curves.Length == 0) yield break;
        (double low, double high) = (curves.Max(c => c.LowRadPerS) / RadPerSPerRpm, curves.Min(c => c.HighRadPerS) / RadPerSPerRpm);
        if (!(high > low)) (low, high) = (curves.Min(c => c.LowRadPerS) / RadPerSPerRpm, curves.Max(c => c.HighRadPerS) / RadPerSPerRpm);
        double rough = (high - low) / About;
        double ten = Math.Pow(10, Math.Floor(Math.Log10(rough)));
        double step = ten * (rough / ten < 1.5 ? 1 : rough / ten < 3.5 ? 2 : rough / ten < 7.5 ? 5 : 10);
        yield return low * RadPerSPerRpm;
        for (double rpm = Math.Ceiling((low + (0.2 * step)) / step) * step; rpm < high - (0.2 * step); rpm += step)
            yield return rpm * RadPerSPerRpm;
        yield return high * RadPerSPerRpm;
    }

    private IEnumerable<string> HowSure()
    {
        bool constant = Bench.Bare.Noise == BenchNoise.Constant;
        string Scatter(double sd) => constant ? $"{Numbers.Uncertainty(1000 * sd)} mW" : string.Create(CultureInfo.InvariantCulture, $"{100 * sd:G2} % of the power");
        string kind = constant ? "alike at every power" : "in proportion to the power";
        yield return Bench.Bare.IsPooled
            ? $"A reading scatters by {Scatter(Bench.Bare.Scatter.Sd)} (k = 1), {kind}; by all curves together, {Bench.Bare.Scatter.Freedom} degrees of freedom."
            : $"Readings scatter {kind}, but not alike: {string.Join(", ", Bench.Curves.Where(c => c.HasCurve).Select(c => $"{c.Name} {Scatter(c.Scatter.Sd)}").Prepend($"bare motor {Scatter(Bench.Bare.Scatter.Sd)}"))} (k = 1); each curve has its own.";
        yield return $"Bare motor: {Kind(Bench.Bare.Coefficients)}, never beyond its readings; its uncertainty is in every torque, and falls out of differences.";
        if (Bench.Curves.FirstOrDefault(c => c.HasCurve) is { } curve)
            yield return $"Torque: {Kind(curve.Coefficients)}, the same for all. That is the readings' own choice.";
        yield return "What the meters are off by at all readings alike is not in it: one per cent there is one per cent of every torque, and moves no crossing.";
        if (WindingOhm > 0)
            yield return string.Create(CultureInfo.InvariantCulture, $"The winding's loss at {WindingOhm:0.####} Ω is taken off every reading. Copper has 0.4 % more resistance for each kelvin: measure it warm.");
        else if (double.IsFinite(Bench.AmpsPerOhmNm))
            yield return $"The winding's own loss, which grows with the load, is not taken off: torque is too high by up to {Numbers.Measured(Unit.Factor * Bench.AmpsPerOhmNm, double.NaN)} {Unit.Name} for each ohm of it (--winding-ohm).";
        else
            yield return "The winding's own loss R I², which grows with the load, is not taken off, since no current is known: torque comes out somewhat too high (--winding-ohm with amps).";
        yield return "Volts times amps is power for direct current only; a supply that switches needs a meter of true power.";
    }

    private IEnumerable<string> Flags()
    {
        for (int i = 0; i < Bench.Bare.Readings.Count; i++)
        {
            if (Bench.Bare.Flagged[i])
                yield return $"bare motor, line {Bench.Bare.Readings[i].Line}: at {Rpm(Bench.Bare.Readings[i].RadPerS)} rpm far from the curve.";
        }

        foreach (BrakeCurve curve in Bench.Curves)
        {
            foreach (BrakePoint point in curve.Points.Where(p => p.Flagged && double.IsFinite(p.TorqueNm)))
                yield return $"{curve.Name}, line {point.Reading.Line}: {Number(point.TorqueNm, point.UTorqueNm)} {Unit.Name} at {Rpm(point.Reading.RadPerS)} rpm is far from the curve.";
            if (curve.Outside > 0)
                yield return $"{curve.Name}: {curve.Outside} {(curve.Outside == 1 ? "reading" : "readings")} at speeds at which the bare motor was not read ({Rpm(Bench.Bare.LowRadPerS)} to {Rpm(Bench.Bare.HighRadPerS)} rpm); it is not guessed there.";
        }
    }

    private static string Kind(int coefficients) => coefficients switch
    {
        <= 4 => string.Create(CultureInfo.InvariantCulture, $"a polynomial of order {coefficients - 1}"),
        5 => "a cubic spline with one knot",
        _ => string.Create(CultureInfo.InvariantCulture, $"a cubic spline with {coefficients - 4} knots"),
    };

    private static string Count(int count) => count.ToString(CultureInfo.InvariantCulture);
}
