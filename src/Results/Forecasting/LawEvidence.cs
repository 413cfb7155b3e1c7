using Acquire.Motion;
using Acquire.Results.Fitting;
using Acquire.Results.Losses;
using MathNet.Numerics.LinearAlgebra;

namespace Acquire.Results.Forecasting;

/// <summary>What a spin so far says of the coefficients of all candidate exponents together: near the law that fits it, angles and speeds change in proportion
/// to the coefficients, so that −2 ln of the likelihood is Colour⁻¹·|Root·a − Right|² and a constant.</summary>
/// <remarks>The coefficients of neighbouring exponents are all but collinear, each by itself hardly known, and their sum over the speeds seen is known
/// very well: only the triangular factor of the fit keeps both.</remarks>
public sealed class LawEvidence
{
    private const double SettlingS = 6;        // after the hand let go a body wags about before it turns evenly
    private const double MostSettling = 0.2;
    private const double Followed = 8;         // of white noise the colour is 1; a wobble may leave more, a law that does not hold leaves hundreds
    private const double WellFollowed = 4;
    private const double LeastPartS = 60;
    private const double LeastLocalS = 20;
    private const double LeastCycles = 15;     // fewer precessions can pass for a law
    private const double NoBetter = 10;
    private static readonly double[] Latest = [0.5, 0.25, 0.125];
    private const int Rounds = 2;              // what is in proportion about a law that fits is so to the last digit
    private readonly double[] _near;
    private readonly double[] _best;
    private readonly double _nearSpeed;
    private readonly double[] _speedSlopes;

    private LawEvidence(LawProblem problem, double[] parameters, LawCurve curve, GaussNewton.Place place, double[][] waves)
    {
        int n = LossLaw.Exponents.Count;
        var qr = Matrix<double>.Build.DenseOfColumnArrays([.. waves, .. place.Slopes]).QR(MathNet.Numerics.LinearAlgebra.Factorization.QRMethod.Thin);
        Vector<double> all = qr.Q.TransposeThisAndMultiply(Vector<double>.Build.Dense(place.Left));

        // Whatever the wobble's size, the coefficients take the rest.
        Matrix<double> r = qr.R.SubMatrix(waves.Length, n + 1, waves.Length, n + 1);
        Vector<double> q = all.SubVector(waves.Length, n + 1);
        _near = parameters[1..];
        Root = new double[n, n];
        Right = new double[n];
        for (int i = 0; i < n; i++)
        {
            Right[i] = q[i + 1];
            for (int j = i; j < n; j++)
            {
                Root[i, j] = r[i + 1, j + 1];
                Right[i] += Root[i, j] * _near[j];
            }
        }

        Vector<double> step = r.Solve(q);
        _best = [.. parameters.Select((p, k) => p + step[k])];

        // The speed at the start is whatever suits the coefficients best.
        double toS = problem.Span.ToS;
        double atStart = curve.SpeedSlope(0, toS);
        _nearSpeed = curve.Speed(toS) + (atStart * q[0] / r[0, 0]);
        _speedSlopes = [.. Enumerable.Range(1, n).Select(k => curve.SpeedSlope(k, toS) - (atStart * r[0, k] / r[0, 0]))];
        double[] left = (Vector<double>.Build.Dense(place.Left) - (qr.Q * all)).ToArray();
        Colour = Math.Max(1, LongRun.Variance(left, n + 1)); // less is chance
        Freedom = LongRun.Cosines(problem.Count);
        (Count, FirstRadPerS, FromS, ToS) = (problem.Count, parameters[0], problem.Span.FromS, toS);
    }

    /// <summary>Triangular, one row and column for each of <see cref="LossLaw.Exponents"/>.</summary>
    public double[,] Root { get; }

    /// <summary>The right side that goes with it.</summary>
    public double[] Right { get; }

    /// <summary>Long-run variance of what the best law leaves over that of neighbours.</summary>
    public double Colour { get; }

    /// <summary>Degrees of freedom of <see cref="Colour"/>.</summary>
    public int Freedom { get; }

    /// <summary>Blocks of marks, or speeds, used.</summary>
    public int Count { get; }

    /// <summary>Speed where the data begin, rad/s.</summary>
    public double FirstRadPerS { get; }

    /// <summary>Where the data begin, seconds since the first pulse.</summary>
    public double FromS { get; }

    /// <summary>Where they end.</summary>
    public double ToS { get; }

    /// <summary>Speed where the data end, turns a minute, by the law that explains them best; what it is unsure by is far less than what a forecast is.</summary>
    public double LastRpm => LastRadPerS(_best.AsSpan(1)) * 30 / Math.PI;

    /// <summary>Deceleration where the data end, rad/s², by the latest of them alone; null where one law follows them all and says it better.</summary>
    internal double? LocalFall { get; private set; }

    private double BestFall => LossLaw.Exponents.Select((p, k) => _best[k + 1] * LossLaw.Power(LastRpm / 1000, p)).Sum();

    /// <summary>Speed where the data end, rad/s, were these the coefficients.</summary>
    public double LastRadPerS(ReadOnlySpan<double> coefficients)
    {
        double speed = _nearSpeed;
        for (int k = 0; k < _near.Length; k++)
            speed += _speedSlopes[k] * (coefficients[k] - _near[k]);
        return speed;
    }

    /// <summary>The least standard uncertainty, s, that an unbiased estimate of the time from the end of the data down to a speed can have where the law's exponents are
    /// known, noise is white and a coefficient may be negative: the Cramér-Rao bound. What is known beyond that can beat it.</summary>
    /// <param name="truth">The true law.</param>
    /// <param name="toRadPerS">The speed, below that at which the data end.</param>
    public double LeastU(LossLaw truth, double toRadPerS)
    {
        ArgumentNullException.ThrowIfNull(truth);
        int[] places = [.. truth.Terms.Select(t => LossLaw.Exponents.Index().First(e => e.Item == t.Exponent).Index)];
        double[] all = new double[Right.Length];
        for (int k = 0; k < places.Length; k++)
            all[places[k]] = truth.Terms[k].Coefficient;
        double now = LastRadPerS(all);
        Vector<double> slopes = Vector<double>.Build.Dense([.. truth.TimeSlopes(now, toRadPerS).Select((s, k) => s + (_speedSlopes[places[k]] / truth.Deceleration(now)))]);
        Matrix<double> r = Matrix<double>.Build.Dense(Right.Length, places.Length, (i, k) => Root[i, places[k]]).QR(MathNet.Numerics.LinearAlgebra.Factorization.QRMethod.Thin).R;
        return r.Transpose().Solve(slopes).L2Norm();
    }

    /// <summary>Where the part of a spin begins that is looked at: some seconds after the hand let go, while a wobble sets in, but no more than a fifth of what there is.</summary>
    /// <param name="releaseS">When the hand let go.</param>
    /// <param name="untilS">Where what is known ends.</param>
    public static double Beginning(double releaseS, double untilS) =>
        Math.Max(SpinMarks.FreePart(releaseS, untilS).FromS, releaseS + Math.Min(SettlingS, MostSettling * (untilS - releaseS)));

    /// <summary>Takes it from marks.</summary>
    /// <param name="marks">The marks, none before the body was let go.</param>
    /// <param name="wobblePerS2">Precessions a second times turns a second, where a wobble was found; else null.</param>
    /// <returns>Null where there are too few, or none slow down.</returns>
    public static LawEvidence? Of(SpinMarks marks, double? wobblePerS2 = null) =>
        LossLawFit.Prepared(marks, wobblePerS2) is { } ready ? Of(ready) : null;

    /// <summary>Takes it from as much of a spin as one law follows: from all of it, else from the latest half, quarter or eighth. A cover that ceases to help at a speed, or a
    /// boundary layer that changes, leaves two laws, of which the later goes on.</summary>
    /// <param name="fromS">Where to begin at the earliest.</param>
    /// <param name="toS">Where to end.</param>
    /// <param name="wobblePerS2">Precessions a second times turns a second, where a wobble was found; else null.</param>
    /// <param name="between">Takes it between two moments.</param>
    public static LawEvidence? OfLate(double fromS, double toS, double? wobblePerS2, Func<double, double, LawEvidence?> between)
    {
        ArgumentNullException.ThrowIfNull(between);
        LawEvidence? whole = between(fromS, toS);
        if (whole is null or { Colour: <= Followed })
            return whole;
        double leastS = Math.Max(LeastPartS, wobblePerS2 is { } constant ? LeastCycles * whole.FirstRadPerS / (2 * Math.PI) / constant : 0);
        LawEvidence[] parts = [whole, .. Latest.Where(share => share * (toS - fromS) >= leastS).Select(share => between(toS - (share * (toS - fromS)), toS)).OfType<LawEvidence>()];
        double localS = Math.Max(LeastLocalS, leastS - LeastPartS);
        double fall = between(toS - Math.Max(localS, Latest[^1] * (toS - fromS)), toS) is { } local ? local.BestFall : whole.BestFall;
        double limit = Math.Max(WellFollowed, NoBetter * parts.Min(p => p.Colour));
        LawEvidence chosen = parts.First(p => p.Colour <= limit);
        chosen.LocalFall = fall;
        return chosen;
    }

    /// <summary>Takes it from speeds, of a run without marks.</summary>
    /// <param name="speed">The speeds.</param>
    /// <param name="fromS">Where to begin, seconds since the first pulse.</param>
    /// <param name="toS">Where to end.</param>
    /// <returns>Null where there are too few, or none slow down.</returns>
    public static LawEvidence? Of(IReadOnlyList<SpeedPoint> speed, double fromS, double toS) =>
        LossLawFit.Prepared(speed, fromS, toS) is { } ready ? Of(ready) : null;

    private static LawEvidence? Of(LossLawFit.Ready ready)
    {
        (LawProblem problem, LossLawFit.Guess near) = (ready.Problem, ready.Near);
        double[] all = [.. LossLaw.Exponents];
        double[] parameters = [near.Parameters[0], .. all.Select(p => Array.IndexOf(near.Exponents, p) is >= 0 and int k ? near.Parameters[k + 1] : 0)];
        double[][] waves = ready.Wave is { } wave ? WobbleOut.Columns(wave) : [];
        foreach (double[] column in waves)
            problem.Weigh(column);
        if (problem.Count <= 2 * (parameters.Length + waves.Length))
            return null;
        LawEvidence? found = null;
        for (int round = 0; round < Rounds && problem.Curve(all, parameters) is { } curve && problem.At(all, parameters) is { } place; round++)
        {
            found = new LawEvidence(problem, parameters, curve, place, waves);
            parameters = found._best;
        }

        return found;
    }
}
