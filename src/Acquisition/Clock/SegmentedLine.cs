namespace Acquire.Acquisition.Clock;

/// <summary>A straight line of host time over board time with one slope and an offset for each segment, and, where asked for, a share
/// of the delay: robust to outliers, with the uncertainty of the slope.</summary>
internal sealed class SegmentedLine
{
    private const double TrimAtScales = 10;
    private const double LargestShare = 0.55; // half the delay is the most that one side can have; more comes of noise
    private readonly ClockSample[] _samples;
    private readonly double[] _weights;
    private readonly double[] _residuals;
    private readonly bool _withDelay;
    private readonly Dictionary<int, (double Weight, double X, double Z, double Y)> _means = [];

    private SegmentedLine(ClockSample[] samples, double[] baseWeights, bool withDelay)
    {
        _samples = samples;
        _weights = (double[])baseWeights.Clone();
        _residuals = new double[samples.Length];
        _withDelay = withDelay;
    }

    /// <summary>Host seconds in a nominal second of the board.</summary>
    internal double Slope { get; private set; }

    /// <summary>Host seconds for a second of delay.</summary>
    internal double DelayShare { get; private set; }

    /// <summary>Standard error of the slope by least squares.</summary>
    internal double SlopeError { get; private set; }

    internal int DegreesOfFreedom { get; private set; }

    /// <summary>1.4826 times the median absolute residual about the median, s.</summary>
    internal double ScaleS { get; private set; }

    internal double MedianResidualS { get; private set; }

    internal ReadOnlySpan<double> Residuals => _residuals;

    internal ReadOnlySpan<double> Weights => _weights;

    /// <summary>Least absolute deviations, by least squares with weights 1/|residual| again and again.</summary>
    internal static SegmentedLine LeastAbsolute(ClockSample[] samples, double[]? weights = null, bool withDelay = false)
    {
        double[] start = weights ?? Ones(samples.Length);
        var line = new SegmentedLine(samples, start, withDelay);
        line.Solve();
        for (int round = 0; round < 40; round++)
        {
            double least = Math.Max(1e-3 * line.ScaleS, 1e-12);
            double before = line.Slope;
            for (int i = 0; i < samples.Length; i++)
                line._weights[i] = Math.Sqrt(start[i]) / Math.Max(Math.Abs(line._residuals[i]), least);
            line.Solve();
            if (Math.Abs(line.Slope - before) < 1e-12)
                break;
        }

        return line;
    }

    /// <summary>Least squares over the samples that lie within ten scales of the line of least absolute deviations.</summary>
    internal static SegmentedLine Trimmed(ClockSample[] samples, double[]? weights = null, bool withDelay = false)
    {
        double[] start = weights ?? Ones(samples.Length);
        SegmentedLine robust = LeastAbsolute(samples, start, withDelay);
        double[] kept = new double[samples.Length];
        double limit = Math.Max(TrimAtScales * robust.ScaleS, 1e-9);
        for (int i = 0; i < samples.Length; i++)
            kept[i] = Math.Abs(robust._residuals[i] - robust.MedianResidualS) <= limit ? start[i] : 0;
        var line = new SegmentedLine(samples, kept, withDelay);
        line.Solve();
        return line;
    }

    /// <summary>Host time on the line for a moment of the board in a segment, s; without delay.</summary>
    internal double HostS(int segment, double boardS)
    {
        var (_, x, z, y) = _means[segment];
        return y + (Slope * (boardS - x)) - (DelayShare * z);
    }

    internal bool Knows(int segment) => _means.ContainsKey(segment);

    /// <summary>Standard error of the slope where neighbouring residuals are alike (Newey and West 1987, Bartlett weights).</summary>
    internal double SlopeErrorCorrelated(int lags)
    {
        int n = _samples.Length;
        double[] scores = new double[n];
        double sum = 0;
        double square = 0;
        for (int i = 0; i < n; i++)
        {
            if (_weights[i] == 0)
                continue;
            double x = _samples[i].BoardS - _means[_samples[i].Segment].X;
            scores[i] = _weights[i] * x * _residuals[i];
            square += _weights[i] * x * x;
            sum += scores[i] * scores[i];
        }

        for (int lag = 1; lag <= lags; lag++)
        {
            for (int i = lag; i < n; i++)
                sum += 2 * (1 - (lag / (lags + 1.0))) * scores[i] * scores[i - lag];
        }

        return Math.Sqrt(Math.Max(sum, 0)) / square;
    }

    private void Solve()
    {
        FindMeans();
        double xx = 0, xz = 0, zz = 0, xy = 0, zy = 0;
        for (int i = 0; i < _samples.Length; i++)
        {
            double w = _weights[i];
            if (w == 0)
                continue;
            var mean = _means[_samples[i].Segment];
            double x = _samples[i].BoardS - mean.X;
            double z = _withDelay ? _samples[i].DelayS - mean.Z : 0;
            double y = _samples[i].HostS - mean.Y;
            xx += w * x * x;
            xz += w * x * z;
            zz += w * z * z;
            xy += w * x * y;
            zy += w * z * y;
        }

        double determinant = (xx * zz) - (xz * xz);
        double share = _withDelay && determinant > 1e-12 * xx * zz ? ((zy * xx) - (xy * xz)) / determinant : 0;
        bool delayHelps = share != 0 && Math.Abs(share) <= LargestShare;
        Slope = delayHelps ? ((xy * zz) - (zy * xz)) / determinant : xy / xx;
        DelayShare = delayHelps ? share : 0;
        double slopeVariance = delayHelps ? zz / determinant : 1 / xx;
        FindErrors(slopeVariance, delayHelps ? 2 : 1);
    }

    private void FindMeans()
    {
        _means.Clear();
        for (int i = 0; i < _samples.Length; i++)
        {
            double w = _weights[i];
            if (w == 0)
                continue;
            ClockSample s = _samples[i];
            _means.TryGetValue(s.Segment, out var sum);
            _means[s.Segment] = (sum.Weight + w, sum.X + (w * s.BoardS), sum.Z + (w * s.DelayS), sum.Y + (w * s.HostS));
        }

        foreach (int segment in _means.Keys.ToArray())
        {
            var (weight, x, z, y) = _means[segment];
            _means[segment] = (weight, x / weight, z / weight, y / weight);
        }
    }

    private void FindErrors(double slopeVariance, int slopes)
    {
        double squares = 0;
        var inUse = new List<double>(_samples.Length);
        for (int i = 0; i < _samples.Length; i++)
        {
            ClockSample s = _samples[i];
            if (!_means.TryGetValue(s.Segment, out var mean))
                continue;
            _residuals[i] = s.HostS - mean.Y - (Slope * (s.BoardS - mean.X)) - (DelayShare * (s.DelayS - mean.Z));
            if (_weights[i] == 0)
                continue;
            squares += _weights[i] * _residuals[i] * _residuals[i];
            inUse.Add(_residuals[i]);
        }

        DegreesOfFreedom = inUse.Count - _means.Count - slopes;
        SlopeError = DegreesOfFreedom > 0 ? Math.Sqrt(squares / DegreesOfFreedom * slopeVariance) : double.PositiveInfinity;
        MedianResidualS = ClockStatistics.Median(inUse);
        for (int i = 0; i < inUse.Count; i++)
            inUse[i] = Math.Abs(inUse[i] - MedianResidualS);
        ScaleS = 1.4826 * ClockStatistics.Median(inUse);
    }

    private static double[] Ones(int count)
    {
        double[] ones = new double[count];
        Array.Fill(ones, 1);
        return ones;
    }
}
