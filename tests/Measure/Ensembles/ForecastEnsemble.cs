using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Results.Forecasting;
using Acquire.Results.Losses;

namespace Acquire.Measure.Ensembles;

/// <summary>How often the 95 % interval of the time that remains holds the truth, and how wide it is beside the best that the data allow: true exponents known, white
/// noise, the spread of the end's speed known. That best is for unbiased estimates; knowing that no loss is negative can beat it.</summary>
internal static class ForecastEnsemble
{
    private const double Rpm = Math.PI / 30;
    private const double Coverage = 1.96;
    private const int EachCovered = 4;
    private const double ProductShare = 0.004;
    private static readonly double[] Shares = [0.10, 0.25, 0.50, 0.75];

    public static readonly Ensemble Ensemble = new(
        "forecast", "95 % intervals of the time left at 10, 25, 50 and 75 % of the spin; 2 to 4 random terms, 1 to 4 marks, jitter, wobble; the end by 3 to 8 earlier spins", Measure, new Seeds(0, 6));

    private readonly record struct Outcome(bool Held, double Width, double Best, double EndOnly);

    private static List<Figure> Measure(Seeds seeds)
    {
        var figures = new List<Figure>();
        Outcome?[][] plain = seeds.Each(seed => Of(ForecastSpin.Of(seed), seed, isCovered: false));
        Outcome?[][] covered = new Seeds(seeds.First, (seeds.Count + EachCovered - 1) / EachCovered).Each(seed => Of(Covered(seed), seed, isCovered: true));
        for (int i = 0; i < Shares.Length; i++)
        {
            string at = string.Create(CultureInfo.InvariantCulture, $"at {100 * Shares[i]:0} % of the spin");
            Outcome[] all = [.. plain.Select(o => o[i]).OfType<Outcome>()];
            figures.Add(Figure.Interval($"time left {at}", all.Count(o => o.Held), all.Length, all.Length));
            figures.Add(new Figure($"width of the interval {at}, of what is left: mean, median", "reported", string.Create(CultureInfo.InvariantCulture,
                $"{Both(all, o => o.Width)}; best possible {Both(all, o => o.Best)}, of which the end {Both(all, o => o.EndOnly)}; ratio of the medians {Median(all, o => o.Width) / Median(all, o => o.Best):F2}"), true));
            figures.Add(Figure.Of($"a forecast was to be had {at}", "all", all.Length, seeds.Count, 1));
            Outcome[] cover = [.. covered.Select(o => o[i]).OfType<Outcome>()];
            figures.Add(Figure.Interval($"time left {at}, no law of powers (a cover that helps above a speed), 3 to 8 earlier spins", cover.Count(o => o.Held), cover.Length, cover.Length,
                string.Create(CultureInfo.InvariantCulture, $", mean width {100 * cover.Average(o => o.Width):F2} %")).Beyond());
        }

        return figures;
    }

    private static string Both(Outcome[] all, Func<Outcome, double> of) => string.Create(CultureInfo.InvariantCulture, $"{100 * all.Average(of):F2}, {100 * Median(all, of):F2} %");

    private static double Median(Outcome[] all, Func<Outcome, double> of) => all.Select(of).Order().ElementAt(all.Length / 2);

    private static ForecastSpin Covered(int seed)
    {
        var noise = new SeededNoise(seed, 4200);
        return ForecastSpin.Of(seed, new CoverEffect(noise.Uniform(0.1, 0.4), noise.Uniform(500, 1200)));
    }

    private static Outcome?[] Of(ForecastSpin spin, int seed, bool isCovered) => [.. Shares.Select(share =>
    {
        if (spin.At(share) is not { } known)
            return (Outcome?)null;
        EarlierSpins? earlier = isCovered ? Earlier(spin, seed, known.Evidence.LastRpm) : null;
        SpinForecast found = SpinForecast.Of(known.Evidence, EndSpeed.OfRuns(spin.EarlierRpm), 0, 0, null, earlier);
        Spread left = found.RemainingS;
        double end = spin.Truth.Plan.ToppleRpm * Rpm;
        double byEnd = spin.EndShare * end / spin.Truth.DecelerationRadPerS2(spin.Truth.Plan.ToppleRpm);
        var truth = new LossLaw([.. spin.Truth.Plan.Loss.Select(t => new LawTerm(t.Exponent, t.DecelerationRadPerS2))]);
        double best = double.Hypot(byEnd, isCovered ? 0 : known.Evidence.LeastU(truth, end));
        return new Outcome(
            left.Low <= known.RemainingS && known.RemainingS <= left.High, (left.High - left.Low) / known.RemainingS,
            2 * Coverage * best / known.RemainingS, 2 * Coverage * byEnd / known.RemainingS);
    })];

    // Their loss may be larger or smaller as a whole: that cancels. What is left scatters.
    private static EarlierSpins Earlier(ForecastSpin spin, int seed, double nowRpm)
    {
        var noise = new SeededNoise(seed, 4300);
        double toRpm = 1.03 * Math.Max(spin.Truth.Plan.ToppleRpm, spin.EarlierRpm.Max());
        double product = spin.Truth.DecayTimeS(nowRpm, Math.Min(toRpm, 0.9 * nowRpm)) * spin.Truth.DecelerationRadPerS2(nowRpm);
        return EarlierSpins.Of(Math.Min(toRpm, 0.9 * nowRpm), [.. spin.EarlierRpm.Select(_ => product * Math.Exp(ProductShare * noise.Gaussian()))]);
    }
}
