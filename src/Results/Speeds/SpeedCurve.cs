using Acquire.Motion;

namespace Acquire.Results.Speeds;

/// <summary>Speed and deceleration on an even grid, from samples of the speed of which nothing is known but what they show.</summary>
/// <remarks>
/// A local polynomial, with the window in which a cubic foretells samples left out best (cross-validation). In it a quintic is fitted: a cubic's bias there is as large as its
/// scatter, and is so taken out at the price of more scatter, which is stated (Calonico, Cattaneo and Farrell, J. Am. Stat. Assoc. 113 (2018) 767, from memory).
/// Windows do not reach across the moment of the highest speed or a gap. The noise is taken from the residuals, widened where neighbours err alike (AR(1): √((1+ρ)/(1−ρ))). What is wrong with
/// all samples alike, such as the instrument's scale, is not in it.
/// </remarks>
public sealed record SpeedCurve
{
    /// <summary>Fewer samples make no curve.</summary>
    public const int FewestSamples = 8;

    private const double SamplesAGrid = 20;
    private const double GapSpacings = 12;
    private const int PeakMedian = 5;

    private SpeedCurve(IReadOnlyList<SpeedPoint> points, IReadOnlyList<(double FromS, double ToS)> gaps, double halfWindowS, double noiseRpm, double correlation) =>
        (Points, Gaps, HalfWindowS, NoiseRpm, Correlation) = (points, gaps, halfWindowS, noiseRpm, correlation);

    /// <summary>The grid, from 0 on; nothing invented where samples are missing.</summary>
    public IReadOnlyList<SpeedPoint> Points { get; }

    /// <summary>Times without samples.</summary>
    public IReadOnlyList<(double FromS, double ToS)> Gaps { get; }

    /// <summary>Half the window of the free spin, s.</summary>
    public double HalfWindowS { get; }

    /// <summary>Standard deviation of a sample about the curve, turns a minute.</summary>
    public double NoiseRpm { get; }

    /// <summary>How alike neighbouring samples err, 0 to 1.</summary>
    public double Correlation { get; }

    /// <summary>When the speed was highest, s.</summary>
    public double ReleaseS { get; private init; }

    /// <summary>Its standard uncertainty, s.</summary>
    public double UReleaseS { get; private init; }

    /// <summary>The speed then, turns a minute.</summary>
    public double PeakRpm { get; private init; }

    /// <summary>Its standard uncertainty.</summary>
    public double UPeakRpm { get; private init; }

    /// <summary>The speed at the last sample, turns a minute.</summary>
    public double LastRpm { get; private init; }

    /// <summary>Fits a curve.</summary>
    /// <param name="timeS">Times, s, rising from 0.</param>
    /// <param name="rpm">Speeds, turns a minute; as many, <see cref="FewestSamples"/> at least.</param>
    /// <param name="gridS">Step of the grid, s.</param>
    public static SpeedCurve Fit(double[] timeS, double[] rpm, double gridS)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(timeS.Length, FewestSamples);
        ArgumentOutOfRangeException.ThrowIfNotEqual(rpm.Length, timeS.Length);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(gridS);
        double end = timeS[^1];
        (timeS, rpm) = Grouped(timeS, rpm, gridS);
        int peak = Peak(rpm);
        double spacing = Spacing(timeS);
        List<SpeedPiece> pieces = Pieces(timeS, rpm, peak, GapSpacings * spacing);
        SpeedPiece free = pieces.MaxBy(p => p.From >= peak ? p.Count : -1)!;
        var noise = SampleNoise.Of(pieces.Where(p => p.From >= peak && p.Count > 4).DefaultIfEmpty(free), free.BestHalfS(spacing));
        List<SpeedPoint> points = [];
        for (int i = 0; i * gridS <= end; i++)
            points.Add(At(pieces, i * gridS, noise));
        SpeedPoint top = At([.. pieces.Where(p => p.From >= peak)], timeS[peak], noise);
        SpeedPoint last = At(pieces, timeS[^1], noise);
        double fall = Math.Max(Math.Abs(top.DecelRpmPerS), 1e-9);
        double byNoise = Math.Min(noise.Rpm / fall, Math.Max(0, timeS[^1] - timeS[peak]));
        return new SpeedCurve(points, Between(pieces), noise.HalfS, noise.Rpm, noise.Correlation)
        {
            ReleaseS = timeS[peak],
            UReleaseS = Math.Sqrt(((spacing * spacing) + (byNoise * byNoise)) / 3),
            PeakRpm = double.IsFinite(top.Rpm) ? top.Rpm : rpm[peak],
            UPeakRpm = double.IsFinite(top.URpm) ? top.URpm : noise.Rpm,
            LastRpm = double.IsFinite(last.Rpm) ? last.Rpm : rpm[^1],
        };
    }

    private static SpeedPoint At(List<SpeedPiece> pieces, double atS, SampleNoise noise)
    {
        const double Edge = 1e-9;
        SpeedPiece? piece = pieces.LastOrDefault(p => atS >= p.FromS - Edge && atS <= p.ToS + Edge && p.Count > 2);
        return piece is null
            ? new SpeedPoint(atS, double.NaN, double.NaN, double.NaN, double.NaN)
            : piece.At(atS, noise);
    }

    // So many samples that neighbours say the same: their means are as good and sooner worked with.
    private static (double[] TimeS, double[] Rpm) Grouped(double[] timeS, double[] rpm, double gridS)
    {
        int size = (int)Math.Min(rpm.Length / (double)FewestSamples, rpm.Length / Math.Max(FewestSamples, SamplesAGrid * timeS[^1] / gridS));
        return size < 2 ? (timeS, rpm) : (Means(timeS, size), Means(rpm, size));
    }

    private static double[] Means(double[] all, int size) => [.. all.Chunk(size).Where(c => c.Length == size).Select(c => c.Average())];

    // The highest of running medians, so that no single sample makes a peak.
    private static int Peak(double[] rpm)
    {
        int best = 0;
        double most = double.NegativeInfinity;
        double[] near = new double[PeakMedian];
        for (int i = 0; i < rpm.Length; i++)
        {
            int first = Math.Clamp(i - (PeakMedian / 2), 0, rpm.Length - PeakMedian);
            Array.Copy(rpm, first, near, 0, PeakMedian);
            Array.Sort(near);
            double value = i < PeakMedian / 2 ? Math.Min(rpm[i], near[^2]) : near[PeakMedian / 2];
            if (value > most)
                (best, most) = (i, value);
        }

        return Math.Min(best, rpm.Length - 3);
    }

    private static double Spacing(double[] timeS)
    {
        double[] steps = [.. timeS.Skip(1).Zip(timeS, (b, a) => b - a)];
        Array.Sort(steps);
        return steps[steps.Length / 2];
    }

    private static List<SpeedPiece> Pieces(double[] timeS, double[] rpm, int peak, double gapS)
    {
        var pieces = new List<SpeedPiece>();
        int from = 0;
        for (int i = 1; i <= timeS.Length; i++)
        {
            bool gap = i < timeS.Length && timeS[i] - timeS[i - 1] > gapS;
            if (i < timeS.Length && !gap && i != peak)
                continue;
            pieces.Add(new SpeedPiece(timeS, rpm, from, i == peak && !gap ? i + 1 : i)); // the sample of the peak belongs to both sides
            from = i;
        }

        return pieces;
    }

    private static List<(double FromS, double ToS)> Between(List<SpeedPiece> pieces) =>
        [.. pieces.Skip(1).Zip(pieces, (b, a) => (a.ToS, b.FromS)).Where(g => g.FromS > g.ToS)];
}
