using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Results.Comparison;
using Acquire.Results.Statistics;
using Acquire.Results.Tests;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the interval of a change in percent holds the true change, and how often it is said of no change that it helped or
/// hurt. Most runs are drawn as results (decay times with scatter from run to run and noise of measurement), so that thousands are to be had; some as
/// speed curves; and some go all the way from simulated pulses, their speed curves stretched by what runs scatter.</summary>
internal static class CompareEnsemble
{
    // A share of 4 to 6 % takes thousands of comparisons to tell.
    private const int PerSeed = 20;
    private const int CoursesPerSeed = 10;
    private const double LevelLeast = 0.04;
    private const double LevelMost = 0.06;
    private const int FewestPermuted = 4;

    public static readonly Ensemble Ensemble = new(
        "compare", $"{PerSeed} comparisons a seed of 3 to 8 runs a group that scatter by 0.5 to 3 %, changes of −10 to 30 %; {CoursesPerSeed} with speed curves, {CoursesPerSeed} from 8 runs of pulses", Measure, new Seeds(0, 12));

    private readonly record struct Outcome(bool Held, bool False, bool? FalsePermutation, bool Unequal, bool LibraryHeld);

    private readonly record struct Course(int Bands, int BandsHeld, bool? SpinHeld, bool Held);

    private static List<Figure> Measure(Seeds seeds)
    {
        Outcome[] all = [.. seeds.Each(s => Enumerable.Range(0, PerSeed).Select(i => One(s, i)).ToArray()).SelectMany(o => o)];
        Course[] curves = [.. seeds.Each(s => Enumerable.Range(0, CoursesPerSeed).Select(i => Curves(s, i)).ToArray()).SelectMany(c => c)];
        Course[] pulses = [.. seeds.Each(s => Pulses(s).ToArray()).SelectMany(c => c)];
        int n = all.Length;
        int unequal = all.Count(o => o.Unequal);
        return
        [
            Figure.Interval("change of the decay time", all.Count(o => o.Held), n, n),
            Figure.Interval("change, groups that scatter unlike each other", all.Count(o => o.Unequal && o.Held), unequal, unequal),
            Figure.Interval("change of one run against one, by the library's repeatability", all.Count(o => o.LibraryHeld), n, n),
            Figure.Of("said to differ where nothing does (Welch, 5 %)", "4–6 %", all.Count(o => o.False), n, LevelLeast, LevelMost),
            Figure.Of("the same by the permutation test, 4 runs a group or more", "reported", all.Count(o => o.FalsePermutation == true), all.Count(o => o.FalsePermutation is not null), 0).Beyond(),
            .. Of("speed curves", curves), .. Of("from pulses", pulses),
        ];
    }

    private static Figure[] Of(string what, Course[] all)
    {
        int n = all.Length;
        Course[] whole = [.. all.Where(c => c.SpinHeld is not null)];
        return
        [
            Figure.Interval("change of the decay time, " + what, all.Count(c => c.Held), n, n),
            Figure.Interval("change in a band, " + what, all.Sum(c => c.BandsHeld), all.Sum(c => c.Bands), n),
            Figure.Interval("change of the whole spin, " + what, whole.Count(c => c.SpinHeld == true), whole.Length, whole.Length),
        ];
    }

    private static Outcome One(int seed, int number)
    {
        var noise = new SeededNoise(seed, 900 + number);
        bool unequal = number % 4 == 0;
        double sd = 0.005 * Math.Pow(6, noise.Uniform());
        double sdVariant = unequal ? sd * noise.Uniform(0.4, 2.4) : sd;
        (int a, int b) = (3 + noise.Below(6), 3 + noise.Below(6));
        double change = Math.Log(noise.Uniform(0.9, 1.3));
        const double U = 1e-4;
        LogTime[] Draw(int count, double mean, double scatter) =>
            [.. Enumerable.Range(0, count).Select(_ => new LogTime(mean + (scatter * noise.Gaussian()) + (U * noise.Gaussian()), U))];
        LogTime[] baseline = Draw(a, 6.5, sd);
        Change found = Change.Of(baseline, Draw(b, 6.5 + change, sdVariant), default)!;
        LogTime[] same = Draw(b, 6.5, sdVariant);
        Repeatability library = Repeatability.Of(Enumerable.Range(0, 4).Select(i => (IReadOnlyCollection<double>)[.. Draw(3, i, sd).Select(t => t.Value)]));
        Change one = Change.Of(Draw(1, 6.5, sd), Draw(1, 6.5 + change, sd), library)!;
        bool permutes = !unequal && a >= FewestPermuted && b >= FewestPermuted && number % 4 == 1;
        return new Outcome(
            Holds(found, change), Change.Of(baseline, same, default)!.IsShown,
            permutes ? PermutationTest.Of([.. baseline.Select(t => t.Value)], [.. same.Select(t => t.Value)]).P < 1 - Change.Level : null,
            unequal, Holds(one, change));
    }

    private static Course Curves(int seed, int number)
    {
        var noise = new SeededNoise(seed, 950 + number);
        double sd = noise.Uniform(0.005, 0.02);
        var bare = new DrawnSpin { Loss = (noise.Uniform(0.02, 0.15), 0.5, 0.25), GridS = 6 };
        DrawnSpin covered = bare with { Cut = noise.Uniform(0, 0.4), AboveRpm = noise.Uniform(600, 1200) };
        List<TimedRun> Runs(DrawnSpin spin, int count) => [.. Enumerable.Range(0, count).Select(i =>
            (spin with { Scale = Math.Exp(sd * noise.Gaussian()), PeakRpm = noise.Uniform(2050, 2300) }).Run($"{spin.Cut}-{i}", i))];
        return Judge(Runs(bare, 4), Runs(covered, 5), (from, to) => Math.Log(covered.DecayS(from, to) / bare.DecayS(from, to)), 2000, 500);
    }

    private static IEnumerable<Course> Pulses(int seed)
    {
        var noise = new SeededNoise(seed, 970);
        double sd = noise.Uniform(0.005, 0.02);
        SpinPlan bare = new SpinPlan { Pushes = [new Push(1500, 0.6)], ToppleRpm = 250, Loss = [new(0, 0.02), new(1.5, 0.1), new(2, 0.05)] }.Lasting(150);
        SpinPlan covered = bare with { Cover = new CoverEffect(noise.Uniform(0, 0.4), noise.Uniform(500, 900)) };
        TimedRun Run(SpinPlan plan, int number, string name)
        {
            var scenario = new SpinScenario
            {
                Seed = (seed * 20) + number,
                Spins = [plan with { Pushes = [new Push(noise.Uniform(1430, 1550), 0.6)] }],
                Sensor = new SensorSettings { JitterS = 5e-6, MissProbability = 0.003, RandomGlintsPerTurn = 0.003 },
            };
            SpinEstimate found = CoverageSpin.Of(scenario, judge: true).Estimate;
            return new TimedRun(name + number, DrawnSpin.FirstDay.AddHours(number), new Dictionary<string, string> { ["cover"] = name }, found.Speed, found.ReleaseS, 0);
        }

        TimedRun[] first = [.. Enumerable.Range(0, 4).Select(i => Run(bare, i, "bare"))];
        TimedRun[] second = [.. Enumerable.Range(4, 4).Select(i => Run(covered, i, "covered"))];
        SpinTruth Truth(SpinPlan plan) => new SimulatedSpin(new SpinScenario { Spins = [plan with { Pushes = [new Push(1700, 0.6)], ToppleRpm = 200 }] }).Spins[0];
        (SpinTruth a, SpinTruth b) = (Truth(bare), Truth(covered));
        for (int i = 0; i < CoursesPerSeed; i++)
        {
            yield return Judge(
                [.. first.Select(r => Stretched(r, Math.Exp(sd * noise.Gaussian())))], [.. second.Select(r => Stretched(r, Math.Exp(sd * noise.Gaussian())))],
                (from, to) => Math.Log(b.DecayTimeS(from, to) / a.DecayTimeS(from, to)), 1400, 400);
        }
    }

    // A body whose whole loss is smaller by a share passes every speed later by it.
    private static TimedRun Stretched(TimedRun run, double by) => run with
    {
        ReleaseS = run.ReleaseS * by,
        Speed = [.. run.Speed.Select(p => p with { TimeS = p.TimeS * by, DecelRpmPerS = p.DecelRpmPerS / by, UDecelRpmPerS = p.UDecelRpmPerS / by })],
    };

    private static Course Judge(IReadOnlyList<TimedRun> first, IReadOnlyList<TimedRun> second, Func<double, double, double> truth, double fromRpm, double toRpm)
    {
        VariantResult found = new Comparing(fromRpm, toRpm, null, []).Compare(new("a", first), [new("b", second)], out string? problem)?.Variants[0]
            ?? throw new InvalidOperationException(problem);
        BandChange[] bands = [.. found.Bands.Where(b => b.Change is not null)];
        return new Course(
            bands.Length, bands.Count(b => Holds(b.Change!, truth(b.FromRpm, b.ToRpm))),
            found.WholeSpin is { } spin ? Holds(spin.Change, truth(spin.StartRpm, spin.EndRpm)) : null,
            Holds(found.Change, truth(fromRpm, toRpm)));
    }

    private static bool Holds(Change change, double truth) =>
        change.LowPercent <= LogTime.Percent(truth) && LogTime.Percent(truth) <= change.HighPercent;
}
