using Acquire.Results.Statistics;
using MathNet.Numerics.Distributions;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Braking;

/// <summary>What two configurations' torque comes to beside each other.</summary>
public enum BrakeVerdict
{
    /// <summary>Nothing is shown to differ: the noise is larger than the difference.</summary>
    NotShown,

    /// <summary>The second brakes less at speed.</summary>
    LessAtSpeed,

    /// <summary>The second brakes more at speed.</summary>
    MoreAtSpeed,

    /// <summary>They have no speeds in common.</summary>
    Apart,
}

/// <summary>A difference of torque at a speed.</summary>
/// <param name="RadPerS">The speed, rad/s.</param>
/// <param name="LessNm">By how much the second brakes less than the first, N m.</param>
/// <param name="HalfWidthNm">Half the width of its 95 % interval, N m.</param>
public readonly record struct BrakeDifference(double RadPerS, double LessNm, double HalfWidthNm)
{
    /// <summary>1 where the second is shown to brake less, -1 where more, 0 where neither.</summary>
    public int Shown => LessNm > HalfWidthNm ? 1 : LessNm < -HalfWidthNm ? -1 : 0;
}

/// <summary>Two configurations' braking torque beside each other: from what speed on one is better.</summary>
/// <remarks>The interval of the speed at which they are equal holds every speed at which equal torque is not refuted at 5 % (the inversion of a test, as Fieller 1954,
/// Journal of the Royal Statistical Society B 16, 175, has it for a ratio; from memory); what the bare motor's curve is off by falls out of the difference.
/// Anything is said only where a test of all of the difference at once shows one at 5 %, so that many speeds do not make many chances.</remarks>
public sealed class BrakeComparison
{
    /// <summary>Level of the intervals.</summary>
    public const double Level = 0.95;

    private const int Steps = 400;
    private const double SquareOfSpeed = 2;
    private readonly BareMotor _bare;

    private BrakeComparison(BrakeCurve first, BrakeCurve second, BareMotor bare)
    {
        (First, Second, _bare) = (first, second, bare);
        FromRadPerS = Math.Max(first.LowRadPerS, second.LowRadPerS);
        ToRadPerS = Math.Min(first.HighRadPerS, second.HighRadPerS);
        if (!(ToRadPerS > FromRadPerS))
        {
            Verdict = BrakeVerdict.Apart;
            return;
        }

        Course = [.. Enumerable.Range(0, Steps + 1).Select(i => At(FromRadPerS + ((ToRadPerS - FromRadPerS) * i / Steps)))];
        P = WholeP();
        int shown = P < 1 - Level ? Array.FindLastIndex(Course, d => d.Shown != 0) : -1;
        if (shown < 0)
        {
            WouldShowRadPerS = WouldShow();
            return;
        }

        int sign = Course[shown].Shown;
        Verdict = sign > 0 ? BrakeVerdict.LessAtSpeed : BrakeVerdict.MoreAtSpeed;
        Cross(shown, sign);
    }

    /// <summary>What is compared with.</summary>
    public BrakeCurve First { get; }

    /// <summary>What is compared.</summary>
    public BrakeCurve Second { get; }

    /// <summary>What it comes to.</summary>
    public BrakeVerdict Verdict { get; }

    /// <summary>Lowest speed of both, rad/s.</summary>
    public double FromRadPerS { get; }

    /// <summary>Highest speed of both, rad/s.</summary>
    public double ToRadPerS { get; }

    /// <summary>The difference at even steps of speed; empty where they have no speeds in common.</summary>
    public BrakeDifference[] Course { get; } = [];

    /// <summary>Probability of a difference as clear as this, over all speeds at once, where there is none.</summary>
    public double P { get; } = double.NaN;

    /// <summary>Above this speed the one that is better at speed is so, rad/s; the lowest speed of both where it is so throughout. NaN where nothing is shown.</summary>
    public double CrossingRadPerS { get; private set; } = double.NaN;

    /// <summary>Lower end of the interval of that; NaN where it reaches below the speeds of both.</summary>
    public double LowRadPerS { get; private set; } = double.NaN;

    /// <summary>Upper end of it: from here on the difference is shown. NaN where nothing is.</summary>
    public double HighRadPerS { get; private set; } = double.NaN;

    /// <summary>Where nothing is shown, the speed from which a difference as large as the one seen would be, if torque differed as the square of the speed and
    /// readings scattered as they do; NaN where that is beyond three times the highest speed.</summary>
    public double WouldShowRadPerS { get; private set; } = double.NaN;

    /// <summary>Compares.</summary>
    internal static BrakeComparison Of(BrakeCurve first, BrakeCurve second, BareMotor bare) => new(first, second, bare);

    /// <summary>The difference at a speed.</summary>
    public BrakeDifference At(double radPerS)
    {
        (Vector<double> a, Vector<double> b) = (First.Own(radPerS), Second.Own(radPerS));
        Vector<double> common = First.OfBare(radPerS) - Second.OfBare(radPerS);
        (double Variance, double Freedom)[] parts =
        [
            (a.DotProduct(First.Fit.Covariance * a), First.Scatter.Freedom),
            (b.DotProduct(Second.Fit.Covariance * b), Second.Scatter.Freedom),
            (common.DotProduct(_bare.Fit.Covariance * common), _bare.Scatter.Freedom),
        ];
        double variance = parts.Sum(p => p.Variance);
        double less = a.DotProduct(First.Fit.Coefficients) - b.DotProduct(Second.Fit.Coefficients);
        return new BrakeDifference(radPerS, less, Math.Sqrt(variance) * Student.Quantile(0.5 + (Level / 2), Freedom(parts)));
    }

    // Satterthwaite 1946, where the parts scatter each for itself.
    private double Freedom((double Variance, double Freedom)[] parts)
    {
        if (_bare.IsPooled)
            return _bare.Scatter.Freedom;
        double variance = parts.Sum(p => p.Variance);
        return variance * variance / parts.Sum(p => p.Variance * p.Variance / p.Freedom);
    }

    // As many speeds as the difference has coefficients tell all of it.
    private double WholeP()
    {
        int count = Math.Max(First.Coefficients, Second.Coefficients);
        double[] speeds = [.. Enumerable.Range(0, count).Select(i => 0.5 * (FromRadPerS + ToRadPerS - ((ToRadPerS - FromRadPerS) * Math.Cos((i + 0.5) * Math.PI / count))))];
        Matrix<double> Rows(Func<double, Vector<double>> of) => Matrix<double>.Build.DenseOfRowVectors(speeds.Select(of));
        (Matrix<double> a, Matrix<double> b) = (Rows(First.Own), Rows(Second.Own));
        Matrix<double> common = Rows(First.OfBare) - Rows(Second.OfBare);
        Vector<double> less = (a * First.Fit.Coefficients) - (b * Second.Fit.Coefficients);
        (Matrix<double> Covariance, double Freedom)[] parts =
        [
            (a * First.Fit.Covariance * a.Transpose(), First.Scatter.Freedom),
            (b * Second.Fit.Covariance * b.Transpose(), Second.Scatter.Freedom),
            (common * _bare.Fit.Covariance * common.Transpose(), _bare.Scatter.Freedom),
        ];
        Matrix<double> covariance = parts[0].Covariance + parts[1].Covariance + parts[2].Covariance;
        double freedom = Freedom([.. parts.Select(p => (p.Covariance.Trace(), p.Freedom))]);

        // Where the two overlap by a part of their speeds some of the coefficients have no say.
        var axes = covariance.Evd(Symmetricity.Symmetric);
        double[] sizes = [.. axes.EigenValues.Select(v => v.Real)];
        double[] squares = [.. axes.EigenVectors.TransposeThisAndMultiply(less).Select((v, i) => v * v / sizes[i]).Where((_, i) => sizes[i] > 1e-10 * sizes.Max())];
        return 1 - FisherSnedecor.CDF(squares.Length, freedom, squares.Sum() / squares.Length);
    }

    // Down from the highest speed at which it is shown: where it is no longer shown, and from where on the opposite is.
    private void Cross(int shown, int sign)
    {
        int high = shown;
        while (high > 0 && Course[high - 1].Shown == sign)
            high--;
        int low = Array.FindLastIndex(Course, high, d => d.Shown == -sign);
        while (low >= 0)
        {
            int begin = low;
            while (begin > 0 && Course[begin - 1].Shown == -sign)
                begin--;
            if (IsBorneOut(Course[begin].RadPerS, Course[low].RadPerS, -sign))
                break;
            low = begin == 0 ? -1 : Array.FindLastIndex(Course, begin - 1, d => d.Shown == -sign);
        }

        HighRadPerS = high == 0 ? Course[0].RadPerS : Between(high - 1, d => (sign * d.LessNm) - d.HalfWidthNm);
        LowRadPerS = low < 0 ? double.NaN : Between(low, d => (sign * d.LessNm) + d.HalfWidthNm);
        int below = Array.FindLastIndex(Course, high, d => sign * d.LessNm <= 0);
        CrossingRadPerS = below < 0 ? Course[0].RadPerS : Between(below, d => sign * d.LessNm);
    }

    // A smooth curve that bends at one speed swings a little at others: of the opposite below the readings there must say the same by themselves. Both
    // are held against one curve, so that they need not be at the same speeds, by their power, in which they scatter alike.
    private bool IsBorneOut(double fromRadPerS, double toRadPerS, int sign)
    {
        double step = (ToRadPerS - FromRadPerS) / Steps;
        (double Mean, double Variance) first = Above(First);
        (double Mean, double Variance) second = Above(Second);
        double half = Math.Sqrt(first.Variance + second.Variance) * Student.Quantile(0.5 + (Level / 2), Math.Min(First.Scatter.Freedom, Second.Scatter.Freedom));
        return sign * (first.Mean - second.Mean) > half;

        (double Mean, double Variance) Above(BrakeCurve curve)
        {
            BrakePoint[] there = [.. curve.Points.Where(p => !p.Flagged && p.Reading.RadPerS >= fromRadPerS - step && p.Reading.RadPerS <= toRadPerS + step)];
            double weights = 0;
            double sum = 0;
            foreach (BrakePoint p in there)
            {
                double noiseNm = curve.NoiseNm(p);
                weights += 1 / (noiseNm * noiseNm);
                sum += (p.TorqueNm - First.TorqueNm(p.Reading.RadPerS).Value) / (noiseNm * noiseNm);
            }

            return there.Length == 0 ? (0, double.PositiveInfinity) : (sum / weights, 1 / weights);
        }
    }

    // Where a quantity that is not above 0 at a step and above 0 at the next passes 0.
    private double Between(int step, Func<BrakeDifference, double> of)
    {
        (double a, double b) = (of(Course[step]), of(Course[step + 1]));
        return Course[step].RadPerS + ((Course[step + 1].RadPerS - Course[step].RadPerS) * (a == b ? 0 : Math.Clamp(-a / (b - a), 0, 1)));
    }

    private double WouldShow()
    {
        const double Furthest = 3;
        double top = ToRadPerS;
        double share = Course.Sum(d => d.LessNm * Math.Pow(d.RadPerS / top, SquareOfSpeed) / (d.HalfWidthNm * d.HalfWidthNm))
            / Course.Sum(d => Math.Pow(d.RadPerS / top, 2 * SquareOfSpeed) / (d.HalfWidthNm * d.HalfWidthNm));

        // Beyond the highest speed readings are taken to be as many as about it; their scatter grows as power does, or not at all.
        double grows = _bare.Noise == BenchNoise.Constant ? 0 : SquareOfSpeed + 1;
        double power = SquareOfSpeed + 1 - grows;
        double typical = Robust.Median(Course.Select(d => d.HalfWidthNm * d.RadPerS / top));
        double ratio = typical / Math.Abs(share);
        double factor = power > 0 ? Math.Pow(ratio, 1 / power) : double.PositiveInfinity;
        return factor <= Furthest ? top * Math.Max(1, factor) : double.NaN;
    }
}
