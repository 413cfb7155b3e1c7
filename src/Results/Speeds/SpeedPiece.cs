using Acquire.Motion;

namespace Acquire.Results.Speeds;

/// <summary>Samples of the speed without a gap.</summary>
/// <param name="TimeS">Times of all samples, s.</param>
/// <param name="Rpm">Speeds of all samples, turns a minute.</param>
/// <param name="From">Index of the piece's first.</param>
/// <param name="To">Index after its last.</param>
internal sealed record SpeedPiece(double[] TimeS, double[] Rpm, int From, int To)
{
    private const int FewestNear = 8;
    private const int MostTried = 150;
    private const int Neighbours = 5; // that may err alike
    private const double Step = 1.5;
    private const int Cubic = 4;
    private const int Quintic = 6;

    /// <summary>How many.</summary>
    public int Count => To - From;

    /// <summary>Time of the first, s.</summary>
    public double FromS => TimeS[From];

    /// <summary>Time of the last, s.</summary>
    public double ToS => TimeS[To - 1];

    /// <summary>The curve at a moment within the piece.</summary>
    public SpeedPoint At(double atS, SampleNoise noise)
    {
        LocalPolynomial fit = Fit(atS, noise.HalfS, Quintic, noise.Variance);
        double wider = noise.Widening;
        return new SpeedPoint(atS, fit.Value, fit.UValue * wider, -fit.Slope, fit.USlope * wider);
    }

    /// <summary>The cubic at a moment.</summary>
    /// <param name="atS">The moment.</param>
    /// <param name="halfS">Half the window; wider where fewer than eight samples would be in it.</param>
    public LocalPolynomial Fit(double atS, double halfS) => Fit(atS, halfS, Cubic, double.NaN);

    /// <summary>Half the window with which samples are foretold best that are left out with their neighbours, s: neighbours may err alike, and would foretell
    /// each other's errors (Chu and Marron, Ann. Stat. 19 (1991) 1906, from memory).</summary>
    public double BestHalfS(double spacingS)
    {
        int beside = Math.Min(Neighbours, Count / (4 * Neighbours));
        double least = (beside + (FewestNear / 2.0)) * spacingS;
        double most = Math.Max(least, (ToS - FromS) / 3);
        var tried = new List<(double HalfS, double Error)>();
        for (double half = least; half <= most * 1.0001; half *= Step)
            tried.Add((half, LeftOutError(half, beside)));
        return tried.MinBy(t => t.Error).HalfS;
    }

    private LocalPolynomial Fit(double atS, double halfS, int terms, double variance)
    {
        (int low, int high, double half) = Window(atS, halfS, 0);
        return LocalPolynomial.Fit(TimeS, Rpm, low, high, atS, half, terms, variance);
    }

    private (int Low, int High, double HalfS) Window(double atS, double halfS, int beside)
    {
        int nearest = Math.Clamp(Index(atS), From, To - 1);
        int low = nearest;
        int high = nearest + 1;
        int wanted = Math.Min(FewestNear + (2 * beside) + 1, Count);
        while (high - low < wanted)
        {
            if (high >= To || (low > From && atS - TimeS[low - 1] <= TimeS[high] - atS))
                low--;
            else
                high++;
        }

        // The farthest would have no weight at all.
        double half = Math.Max(halfS, 1.1 * Math.Max(atS - TimeS[low], TimeS[high - 1] - atS));
        return (Math.Max(From, Index(atS - half)), Math.Min(To, Index(atS + half)), half);
    }

    private double LeftOutError(double halfS, int beside)
    {
        int step = Math.Max(1, Count / MostTried);
        double sum = 0;
        int count = 0;
        for (int i = From; i < To; i += step)
        {
            (int low, int high, double half) = Window(TimeS[i], halfS, beside);
            double foretold = LocalPolynomial.Fit(TimeS, Rpm, low, high, (i - beside, i + beside + 1), TimeS[i], half, Cubic, double.NaN).Value;
            sum += (Rpm[i] - foretold) * (Rpm[i] - foretold);
            count++;
        }

        return sum / count;
    }

    private int Index(double timeS)
    {
        int at = Array.BinarySearch(TimeS, timeS);
        return at >= 0 ? at : ~at;
    }
}

/// <summary>How samples of the speed scatter about the curve.</summary>
/// <param name="HalfS">Half the window that the curve is fitted with, s.</param>
/// <param name="Variance">Variance of a sample, (turns a minute)².</param>
/// <param name="Correlation">How alike neighbours err, 0 to 0.95.</param>
/// <param name="Freedom">Degrees of freedom that the variance rests on.</param>
internal sealed record SampleNoise(double HalfS, double Variance, double Correlation, double Freedom)
{
    private const int MostSamples = 4000;
    private const double MostAlike = 0.95;

    /// <summary>Standard deviation of a sample, turns a minute.</summary>
    public double Rpm => Math.Sqrt(Variance);

    /// <summary>Factor on the uncertainties for independent noise of known size.</summary>
    public double Widening => Math.Sqrt((1 + Correlation) / (1 - Correlation)) * LocalPolynomial.Widening(Freedom);

    /// <summary>From the residuals of pieces, fitted with one window.</summary>
    public static SampleNoise Of(IEnumerable<SpeedPiece> pieces, double halfS)
    {
        (double squares, double products, double pairs, double variance, double freedom, double samples) = (0, 0, 0, 0, 0, 0);
        SpeedPiece[] all = [.. pieces];
        int room = MostSamples / all.Length;
        foreach (SpeedPiece piece in all)
        {
            double before = double.NaN;
            int stretch = Math.Min(piece.Count, room);
            int first = piece.From + ((piece.Count - stretch) / 2);
            for (int i = first; i < first + stretch; i++)
            {
                LocalPolynomial fit = piece.Fit(piece.TimeS[i], halfS);
                double own = 1 - (2 * fit.Leverage) + fit.Gain; // variance of a residual over that of a sample
                double left = piece.Rpm[i] - fit.Value;
                if (double.IsNaN(fit.NoiseVariance) || own <= 0)
                    continue;
                variance += left * left;
                freedom += own;
                samples++;
                squares += left * left;
                if (!double.IsNaN(before))
                    (products, pairs) = (products + (left * before), pairs + 1);
                before = left;
            }
        }

        double correlation = pairs > 0 && squares > 0 ? products / pairs / (squares / samples) : 0;
        return new SampleNoise(halfS, freedom > 0 ? variance / freedom : 0, Math.Clamp(correlation, 0, MostAlike), Math.Max(1, freedom));
    }
}
