using Acquire.Motion;
using Acquire.Results.Fitting;
using MathNet.Numerics.Statistics;

namespace Acquire.Results.Losses;

/// <summary>Finds the loss law of a free spin: the angles of its marks, or its speeds, are those of a body that slows by the law, and every set of
/// the candidate exponents whose coefficients come out positive is tried.</summary>
/// <remarks>Sets are told apart by Schwarz's criterion (1978), in which the sum of squares is taken over the long-run variance of what the best
/// set leaves and the number of data over the same, so that coloured residuals count for what they tell (quasi-likelihood: Burnham and
/// Anderson, Model Selection and Multimodel Inference, section 2.5; from memory).</remarks>
public static class LossLawFit
{
    private const int LeastData = 40;
    private const int ScatterReach = 40;
    private const double MedianOfChiSquared = 0.4549;
    private const double Far = 6;
    private const int DriftReach = 10;

    /// <summary>Finds the law of marks.</summary>
    /// <param name="marks">The marks of the free part of a spin.</param>
    /// <param name="uRatePpm">Standard uncertainty of the clock's rate, parts in a million.</param>
    /// <param name="wobblePerS2">Precessions a second times turns a second, where a wobble was found; else null.</param>
    /// <returns>Null where there are too few marks, or no law explains them.</returns>
    public static FittedLaw? Of(SpinMarks marks, double uRatePpm = 0, double? wobblePerS2 = null)
    {
        ArgumentNullException.ThrowIfNull(marks);
        return Prepared(marks, wobblePerS2) is { } ready ? Choose(ready.Problem, ready.Near, marks.Count - ready.InBlocks, ready.Strays, uRatePpm) : null;
    }

    /// <summary>What a law of marks must explain, and one that comes close; null where there are too few marks or none does.</summary>
    internal static Ready? Prepared(SpinMarks marks, double? wobblePerS2)
    {
        if (marks.Count < LeastData)
            return null;
        var blocks = MarkBlocks.Of(marks);
        (double[] time, double[] angle) = blocks.Firsts();
        int[] segments = blocks.Segments;
        var span = (FromS: time[0], ToS: marks.TimeS[marks.To - 1]);
        if (Start(time, angle, segments) is not { } start)
            return null;
        var rough = new LawProblem(time, angle, Scatter(Bends(angle, time, segments)), segments, null, span);
        if (rough.Curve(start.Exponents, start.Parameters) is null || Closest(rough, start) is not { } near
            || rough.Curve(near.Exponents, near.Parameters) is not { } reference)
            return null;
        (double[] middle, double[] left) = blocks.Against(reference);
        double[] sigma = Scatter(Bends(left, middle, segments));
        WobbleOut.Wave? wave = null;
        if (wobblePerS2 is { } constant)
        {
            wave = blocks.Waves(middle, reference, constant);
            left = WithoutWobble(middle, left, sigma, segments, reference, near, wave.Value);
            sigma = Scatter(Bends(left, middle, segments));
        }

        bool[] kept = Kept(left, sigma, segments);
        T[] Only<T>(T[] values) => [.. values.Where((_, i) => kept[i])];
        var problem = new LawProblem(Only(middle), Only(left), Only(sigma), Only(segments), reference, span);
        wave = wave is { } w ? new WobbleOut.Wave(Only(w.Phase), Only(w.Cos), Only(w.Sin)) : null;
        return new Ready(problem, near, blocks.Strays, blocks.Strays + kept.Count(k => !k), wave);
    }

    /// <summary>Finds the law of speeds, of a run that has no marks.</summary>
    /// <param name="speed">The speeds; those that are not known are left out.</param>
    /// <param name="fromS">Where the free part begins.</param>
    /// <param name="toS">Where it ends.</param>
    /// <param name="uRatePpm">Standard uncertainty of the clock's rate, parts in a million.</param>
    /// <returns>Null where there are too few speeds, or no law explains them.</returns>
    public static FittedLaw? Of(IReadOnlyList<SpeedPoint> speed, double fromS, double toS, double uRatePpm = 0) =>
        Prepared(speed, fromS, toS) is { } ready ? Choose(ready.Problem, ready.Near, ready.Problem.Count, 0, uRatePpm) : null;

    /// <summary>The same of speeds.</summary>
    internal static Ready? Prepared(IReadOnlyList<SpeedPoint> speed, double fromS, double toS)
    {
        SpeedPoint[] points = [.. speed.Where(p => p.TimeS >= fromS && p.TimeS <= toS && p.Rpm > 0 && double.IsFinite(p.Rpm))];
        if (points.Length < LeastData)
            return null;
        double[] time = [.. points.Select(p => p.TimeS)];
        double[] omega = [.. points.Select(p => p.Rpm * Math.PI / 30)];
        int[] one = new int[points.Length];
        if (StartOfSpeeds(time, omega) is not { } start)
            return null;
        var problem = new LawProblem(time, omega, Scatter(Bends(omega, time, one)), null, null, (time[0], time[^1]));
        return problem.Curve(start.Exponents, start.Parameters) is not null && Closest(problem, start) is { } near ? new Ready(problem, near, 0, 0, null) : null;
    }

    /// <summary>What is ready to be fitted.</summary>
    /// <param name="Problem">The data.</param>
    /// <param name="Near">A law that comes close.</param>
    /// <param name="InBlocks">Marks left out as strays within blocks.</param>
    /// <param name="Strays">Those and whole blocks.</param>
    /// <param name="Wave">The precession, already taken out, as the data see it; null where none is known.</param>
    internal sealed record Ready(LawProblem Problem, Guess Near, int InBlocks, int Strays, WobbleOut.Wave? Wave);

    /// <summary>A law to begin from: exponents, then the speed at the start and a coefficient for each.</summary>
    /// <param name="Exponents">The exponents.</param>
    /// <param name="Parameters">The parameters.</param>
    internal readonly record struct Guess(double[] Exponents, double[] Parameters);

    // Speeds over some sixtieths of the spin.
    private static Guess? Start(double[] time, double[] angle, int[] segments)
    {
        int step = Math.Max(1, time.Length / 60);
        var moments = new List<double>();
        var speeds = new List<double>();
        for (int i = step; i < time.Length; i += step)
        {
            if (segments[i] != segments[i - step] || time[i] <= time[i - step])
                continue;
            moments.Add(0.5 * (time[i] + time[i - step]));
            speeds.Add((angle[i] - angle[i - step]) / (time[i] - time[i - step]));
        }

        return FromSpeeds([.. moments], [.. speeds], time[0]);
    }

    private static Guess? StartOfSpeeds(double[] time, double[] omega)
    {
        int step = Math.Max(1, time.Length / 60);
        int count = time.Length / step;
        double Mean(double[] of, int i) => of.AsSpan(i * step, step).ToArray().Average();
        return FromSpeeds([.. Enumerable.Range(0, count).Select(i => Mean(time, i))], [.. Enumerable.Range(0, count).Select(i => Mean(omega, i))], time[0]);
    }

    // A law with a dry and a quadratic term, or one of them, by the falls of speed from place to place.
    private static Guess? FromSpeeds(double[] moments, double[] speeds, double atS)
    {
        if (speeds.Length < 4 || !(speeds[0] > speeds[^1]))
            return null;
        int n = speeds.Length - 1;
        double[] falls = [.. Enumerable.Range(0, n).Select(i => (speeds[i] - speeds[i + 1]) / (moments[i + 1] - moments[i]))];
        double[] middles = [.. Enumerable.Range(0, n).Select(i => 0.5 * (speeds[i] + speeds[i + 1]))];
        double first = speeds[0] + (Math.Max(0, falls[0]) * (moments[0] - atS));
        foreach (double[] exponents in new double[][] { [0, 1, 2], [0, 2], [0, 1.5], [1], [0], [2] })
        {
            double[][] columns = [.. exponents.Select(p => middles.Select(w => LossLaw.Power(w / LossLaw.OmegaRefRadPerS, p)).ToArray())];
            if (Householder.Solve(columns, (double[])falls.Clone()) is { } found && found.Solution.All(a => a > 0))
                return new Guess(exponents, [first, .. found.Solution]);
        }

        return null;
    }

    // What the reference is off by would be taken for a wave too: so the law is fitted beside it, once with the wave and once without.
    private static double[] WithoutWobble(
        double[] time, double[] left, double[] sigma, int[] segments, LawCurve reference, Guess near, WobbleOut.Wave wave)
    {
        double[] without = WobbleOut.Of(left, sigma, wave);
        var problem = new LawProblem(time, without, Scatter(Bends(without, time, segments)), segments, reference, (time[0], time[^1]));
        double[] exponents = [.. LossLaw.Exponents];
        double[] start = Translated(near, exponents, problem);
        if (problem.Solve(exponents, start) is not { } found || problem.Curve(exponents, found.Parameters) is not { } curve)
            return without;
        double[] bend = [.. time.Select(t => curve.Angle(t) - reference.Angle(t))];
        double[] straight = [.. left.Select((x, i) => x - bend[i])];
        foreach (IGrouping<int, int> stretch in Enumerable.Range(0, left.Length).GroupBy(i => segments[i]).ToArray())
        {
            double mean = stretch.Average(i => straight[i]);
            foreach (int i in stretch)
            {
                straight[i] -= mean;
                bend[i] += mean;
            }
        }

        return [.. WobbleOut.Of(straight, sigma, wave).Select((x, i) => x + bend[i])];
    }

    // As many terms as the data bear, of any sign: it need only run close to the data.
    private static Guess? Closest(LawProblem problem, Guess start)
    {
        Guess? best = null;
        foreach (double[] exponents in new double[][] { start.Exponents, [0, 1, 2], [0, 1, 1.5, 2] })
        {
            Guess from = best ?? start;
            if (problem.Solve(exponents, Translated(from, exponents, problem)) is { } found)
                best = new Guess(exponents, found.Parameters);
        }

        return best;
    }

    // The law of other exponents that is nearest over the speeds of the spin.
    private static double[] Translated(Guess guess, double[] exponents, LawProblem problem)
    {
        const int Places = 40;
        if (exponents.SequenceEqual(guess.Exponents) || problem.Curve(guess.Exponents, guess.Parameters) is not { } curve)
            return guess.Parameters;
        double[] speeds = [.. Enumerable.Range(0, Places).Select(i => curve.Speed(problem.Span.FromS + ((problem.Span.ToS - problem.Span.FromS) * (i + 0.5) / Places)))];
        double[] falls = [.. speeds.Select(w => guess.Exponents.Select((p, k) => guess.Parameters[k + 1] * LossLaw.Power(w / LossLaw.OmegaRefRadPerS, p)).Sum())];
        double[][] columns = [.. exponents.Select(p => speeds.Select((w, i) => LossLaw.Power(w / LossLaw.OmegaRefRadPerS, p) / falls[i]).ToArray())];
        return Householder.Solve(columns, [.. falls.Select(_ => 1.0)]) is { } found ? [guess.Parameters[0], .. found.Solution] : guess.Parameters;
    }

    private static FittedLaw? Choose(LawProblem problem, Guess near, int used, int strays, double uRatePpm)
    {
        var laws = new List<(double[] Exponents, GaussNewton.Found Found)>();
        int all = LossLaw.Exponents.Count;
        for (int set = 1; set < 1 << all; set++)
        {
            double[] exponents = [.. LossLaw.Exponents.Where((_, k) => (set >> k & 1) == 1)];
            if (problem.Solve(exponents, Translated(near, exponents, problem)) is { } found && found.Parameters.Skip(1).All(a => a > 0))
                laws.Add((exponents, found));
        }

        if (laws.Count == 0)
            return null;
        GaussNewton.Found best = laws.MinBy(l => l.Found.Squares).Found;
        double colour = Math.Max(1, LongRun.Variance(best.At.Left, best.Parameters.Length)); // less is chance
        double independent = Math.Clamp(problem.Count / colour, 10, problem.Count);
        (double[] Exponents, GaussNewton.Found Found, double Criterion)[] rated =
            [.. laws.Select(l => (l.Exponents, l.Found, (l.Found.Squares / colour) + (l.Exponents.Length * Math.Log(independent)))).OrderBy(l => l.Item3)];
        return FittedLaw.Of(
            [.. rated.Where(l => l.Criterion - rated[0].Criterion < FittedLaw.Unlikely).Select(l => LawCandidate.Of(l.Exponents, l.Found, l.Criterion - rated[0].Criterion, colour, uRatePpm))],
            new LawData(used, strays, problem.Count, colour, problem.Span.FromS, problem.Span.ToS, LongRun.Cosines(problem.Count), problem.Curve(rated[0].Exponents, rated[0].Found.Parameters)!.Speed(problem.Span.ToS), rated[0].Found.Parameters[0]));
    }

    // Second differences over uneven steps: what a datum is off the line through its neighbours, over what that has of its own scatter.
    private static double[] Bends(double[] values, double[] time, int[] segments)
    {
        double[] bends = new double[values.Length];
        Array.Fill(bends, double.NaN);
        for (int i = 1; i < values.Length - 1; i++)
        {
            if (segments[i - 1] != segments[i + 1])
                continue;
            double share = (time[i] - time[i - 1]) / (time[i + 1] - time[i - 1]);
            double off = values[i] - ((1 - share) * values[i - 1]) - (share * values[i + 1]);
            bends[i] = off * off / (1 + (share * share) + ((1 - share) * (1 - share)));
        }

        return bends;
    }

    // The running median is deaf to strays.
    private static double[] Scatter(double[] squares)
    {
        double all = squares.Where(double.IsFinite).DefaultIfEmpty(1).Median() / MedianOfChiSquared;
        double least = Math.Max(all * 1e-6, double.Epsilon * 1e20);
        double[] scatter = new double[squares.Length];
        for (int i = 0; i < squares.Length; i++)
        {
            double[] about = [.. squares.Skip(Math.Max(0, i - ScatterReach)).Take((2 * ScatterReach) + 1).Where(double.IsFinite)];
            scatter[i] = Math.Sqrt(Math.Max(least, about.Length < 10 ? all : about.Median() / MedianOfChiSquared));
        }

        return scatter;
    }

    // A block far from those about it is no part of any slow course.
    private static bool[] Kept(double[] left, double[] sigma, int[] segments)
    {
        bool[] kept = new bool[left.Length];
        for (int i = 0; i < left.Length; i++)
        {
            double[] about = [.. Enumerable.Range(i - DriftReach, (2 * DriftReach) + 1).Where(j => j >= 0 && j < left.Length && segments[j] == segments[i]).Select(j => left[j])];
            double median = about.Median();
            double spread = 1.4826 * about.Select(x => Math.Abs(x - median)).Median();
            kept[i] = Math.Abs(left[i] - median) <= Far * Math.Max(sigma[i], spread);
        }

        return kept;
    }
}
