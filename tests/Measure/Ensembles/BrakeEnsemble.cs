using System.Collections.Concurrent;
using Acquire.Acquisition.Simulation;
using Acquire.Results.Braking;
using Acquire.Results.Losses;
using Acquire.Results.Statistics;

namespace Acquire.Measure.Ensembles;

/// <summary>How often what the motor bench says holds, and whether it and a free spin of the same rotor agree.</summary>
internal static class BrakeEnsemble
{
    private const double Rpm = Math.PI / 30;
    private const double LowRpm = 500;
    private const double HighRpm = 3000;
    private const int DrawnPerSeed = 10; // a bench costs little

    public static readonly Ensemble Ensemble = new(
        "brake", "motor bench: torque, the speed from which one of two bodies brakes less, and agreement with a free spin of the same rotor; 8 to 20 speeds, one to three readings each", Measure, new Seeds(0, 6));

    private static List<Figure> Measure(Seeds seeds)
    {
        var all = new ConcurrentBag<(string Kind, bool Holds)>();
        Parallel.For(seeds.First, seeds.First + seeds.Count, seed =>
        {
            for (int i = 0; i < DrawnPerSeed; i++)
                Benches(new SeededNoise((seed * DrawnPerSeed) + i, 900), (kind, holds) => all.Add((kind, holds)));
            Retardation(seed, (kind, holds) => all.Add((kind, holds)));
        });
        (int Held, int Of) Count(string kind) => (all.Count(f => f.Kind == kind && f.Holds), all.Count(f => f.Kind == kind));
        Figure Interval(string what, string kind, int runs) => Figure.Interval(what, Count(kind).Held, Math.Max(1, Count(kind).Of), runs);
        Figure Share(string what, string kind, string required, double least, double most) =>
            Figure.Of(what, required, Count(kind).Held, Count(kind).Of, least, most);
        int benches = seeds.Count * DrawnPerSeed;
        return
        [
            Interval("torque by the curve, 95 % interval", "curve", benches),
            Interval("torque of a reading, 95 % interval", "point", benches),
            Interval("speed of equal torque, 95 % interval, where the bench tells it", "crossing", Math.Min(benches, Math.Max(1, Count("crossing").Of))),
            Share("the one better at speed is told from the other", "told", "no bar", 0, 1).Beyond(),
            Share("of two alike one is said to be better", "false", "<= 7 %", 0, 0.07),
            Share("the same where a tenth of the readings of one is wild", "false beside wild", "no bar", 0, 1).Beyond(),
            Share("wild readings flagged", "wild", ">= 95 %", 0.95, 1),
            Share("sound readings flagged", "sound", "<= 1 %", 0, 0.01),
            Interval("free spin and bench agree within 95 % of both", "agree", seeds.Count),
            Share("a free spin's law was found", "law", "all", 1, 1),
        ];
    }

    // Two bodies: one with more dry friction, the other with more drag; and one twice.
    private static void Benches(SeededNoise noise, Action<string, bool> add)
    {
        bool inProportion = noise.Below(2) == 1;
        int settings = 8 + noise.Below(13);
        int repeats = 1 + noise.Below(3);
        var rig = new BrakeRig(noise, inProportion ? noise.Uniform(0.001, 0.006) : noise.Uniform(0.002, 0.02), inProportion);
        double crossing = noise.Uniform(900, 2400) * Rpm;
        (double p, double q) = (noise.Below(2) == 1 ? 1.5 : 1.0, noise.Below(2) == 1 ? 1.8 : 2.0);
        double level = noise.Uniform(3e-4, 1.5e-3);
        double First(double w) => level * (0.3 + (0.7 * Math.Pow(w / crossing, q)));
        double Second(double w) => level * (0.4 + (0.6 * Math.Pow(w / crossing, p)));
        BenchConfiguration Read(string name, Func<double, double> torque) => rig.Read(name, LowRpm, HighRpm, settings, repeats, torque);
        (BenchConfiguration Sheet, HashSet<int> Wild) first = Spoilt(Read("first", First), noise, rig, noise.Below(2));
        BrakeBench? bench = BrakeBench.Of(Read("bare", _ => 0), [first.Sheet, Read("second", Second), Read("again", First)], 0, out string? problem);
        if (bench is null)
            throw new InvalidOperationException(problem);
        double limit = Student.Quantile(0.975, bench.Curves[1].Scatter.Freedom);
        foreach (double w in new[] { 700 * Rpm, 1500 * Rpm, 2800 * Rpm })
            add("curve", Math.Abs(bench.Curves[1].TorqueNm(w).Value - Second(w)) <= limit * bench.Curves[1].TorqueNm(w).U);
        foreach (BrakePoint point in bench.Curves[1].Points.Where(b => double.IsFinite(b.TorqueNm)))
            add("point", Math.Abs(point.TorqueNm - Second(point.Reading.RadPerS)) <= limit * point.UTorqueNm);
        BrakeComparison told = bench.Comparisons[0];
        add("told", told.Verdict == BrakeVerdict.LessAtSpeed);
        if (told.Verdict == BrakeVerdict.LessAtSpeed)
            add("crossing", !(crossing < told.LowRadPerS) && crossing <= told.HighRadPerS);
        add(first.Wild.Count == 0 ? "false" : "false beside wild", bench.Comparisons[1].Verdict != BrakeVerdict.NotShown);
        foreach (BrakePoint point in bench.Curves[0].Points)
            add(first.Wild.Contains(point.Reading.Line) ? "wild" : "sound", point.Flagged);
    }

    // In every other bench one reading in ten is of something else: a hand on the body, a wrong range.
    private static (BenchConfiguration Sheet, HashSet<int> Wild) Spoilt(BenchConfiguration sheet, SeededNoise noise, BrakeRig rig, int share)
    {
        var wild = new HashSet<int>();
        var readings = sheet.Readings.ToArray();
        for (int i = 0; i < share * readings.Length / 10; i++)
        {
            int at = noise.Below(readings.Length);
            double off = (noise.Below(2) == 1 ? 1 : -1) * noise.Uniform(15, 60) * rig.SdW(readings[at].PowerW);
            if (wild.Add(readings[at].Line))
                readings[at] = readings[at] with { PowerW = readings[at].PowerW + off };
        }

        return (sheet with { Readings = readings }, wild);
    }

    // A flywheel of known inertia, spun free through the whole way of a pulse and turned by the motor of a bench.
    private static void Retardation(int seed, Action<string, bool> add)
    {
        var noise = new SeededNoise(seed, 901);
        LawSpin spin = LawSpin.Of(seed, seed % 2 == 0 ? 0 : 0.001);
        add("law", spin.Law is not null);
        if (spin.Law is not { } law)
            return;
        double inertia = noise.Uniform(2e-3, 1e-2);
        double scale = inertia * spin.TrueDeceleration(1500) * 1500 * Rpm; // W
        var rig = new BrakeRig(noise, scale * noise.Uniform(0.005, 0.05), inProportion: false);
        BenchConfiguration Read(string name, Func<double, double> torque) => rig.Read(name, 400, 2000, 12, 2, torque);
        BrakeBench bench = BrakeBench.Of(Read("bare", _ => 0), [Read("wheel", w => inertia * spin.TrueDeceleration(w / Rpm))], 0, out _)!;
        foreach (double rpm in new[] { 600.0, 1200, 1800 })
        {
            Estimate slowing = law.Deceleration(rpm * Rpm);
            Estimate braking = bench.Curves[0].TorqueNm(rpm * Rpm);
            double u = Math.Sqrt((inertia * slowing.U * inertia * slowing.U) + (braking.U * braking.U));
            add("agree", Math.Abs((inertia * slowing.Value) - braking.Value) <= 1.96 * u);
        }
    }
}
