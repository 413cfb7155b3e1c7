namespace Acquire.Conditioning;

/// <summary>Weighted least squares of a polynomial to a few hundred points, for its slope at one place; what lies far off is left out once.</summary>
/// <param name="capacity">Most points.</param>
internal sealed class SlopeFit(int capacity)
{
    private const int MostTerms = 4;
    private const double FarOff = 4;
    private readonly double[] _time = new double[capacity];
    private readonly double[] _turns = new double[capacity];
    private readonly double[] _weight = new double[capacity];
    private readonly double[,] _normal = new double[MostTerms, MostTerms];
    private readonly double[] _right = new double[MostTerms];
    private readonly double[] _column = new double[MostTerms];
    private int _count;

    /// <summary>What a fit says.</summary>
    /// <param name="PerS">Slope, turns a second.</param>
    /// <param name="PerS2">Second derivative there.</param>
    /// <param name="Variance">Variance of the slope for points of variance 1, 1/s².</param>
    /// <param name="Scatter">Variance of a point about the curve, turns².</param>
    /// <param name="WindowS">Time that the points span, seconds.</param>
    internal readonly record struct Slope(double PerS, double PerS2, double Variance, double Scatter, double WindowS);

    /// <summary>Takes all points out.</summary>
    public void Clear() => _count = 0;

    /// <summary>Adds a point; times rise.</summary>
    public void Add(double timeS, double turns, double weight)
    {
        (_time[_count], _turns[_count], _weight[_count]) = (timeS, turns, weight);
        _count++;
    }

    /// <summary>Fits.</summary>
    /// <param name="atS">Where the slope is asked for.</param>
    /// <param name="scaleS">About how far the points lie from there: powers of the time are taken in it.</param>
    /// <param name="degree">2 or 3.</param>
    public Slope At(double atS, double scaleS, int degree)
    {
        int terms = degree + 1;
        Solve(atS, scaleS, terms);
        double scatter = Scatter(atS, scaleS, terms);
        if (LeaveOut(atS, scaleS, terms, FarOff * FarOff * scatter))
        {
            Solve(atS, scaleS, terms);
            scatter = Scatter(atS, scaleS, terms);
        }

        double windowS = _time[_count - 1] - _time[0];
        return new Slope(_right[1] / scaleS, 2 * _right[2] / (scaleS * scaleS), SlopeVariance(terms) / (scaleS * scaleS), scatter, windowS);
    }

    private void Solve(double atS, double scaleS, int terms)
    {
        Span<double> sums = stackalloc double[(2 * MostTerms) - 1];
        Array.Clear(_right);
        for (int i = 0; i < _count; i++)
        {
            double x = (_time[i] - atS) / scaleS;
            double power = _weight[i];
            for (int k = 0; k < (2 * terms) - 1; k++, power *= x)
            {
                sums[k] += power;
                if (k < terms)
                    _right[k] += power * _turns[i];
            }
        }

        // Cholesky's factor in the lower half; the sums are those of a positive matrix.
        for (int i = 0; i < terms; i++)
        {
            for (int j = 0; j <= i; j++)
            {
                double rest = sums[i + j];
                for (int k = 0; k < j; k++)
                    rest -= _normal[i, k] * _normal[j, k];
                _normal[i, j] = i == j ? Math.Sqrt(Math.Max(rest, 1e-300)) : rest / _normal[j, j];
            }
        }

        Substitute(_right, terms);
    }

    private void Substitute(double[] right, int terms)
    {
        for (int i = 0; i < terms; i++)
        {
            for (int k = 0; k < i; k++)
                right[i] -= _normal[i, k] * right[k];
            right[i] /= _normal[i, i];
        }

        for (int i = terms - 1; i >= 0; i--)
        {
            for (int k = i + 1; k < terms; k++)
                right[i] -= _normal[k, i] * right[k];
            right[i] /= _normal[i, i];
        }
    }

    private double SlopeVariance(int terms)
    {
        Array.Clear(_column);
        _column[1] = 1;
        Substitute(_column, terms);
        return _column[1];
    }

    private double Off(int i, double atS, double scaleS, int terms)
    {
        double x = (_time[i] - atS) / scaleS;
        double curve = 0;
        for (int k = terms - 1; k >= 0; k--)
            curve = (curve * x) + _right[k];
        return _turns[i] - curve;
    }

    private double Scatter(double atS, double scaleS, int terms)
    {
        double sum = 0;
        for (int i = 0; i < _count; i++)
        {
            double off = Off(i, atS, scaleS, terms);
            sum += _weight[i] * off * off;
        }

        return sum / Math.Max(1, _count - terms);
    }

    private bool LeaveOut(double atS, double scaleS, int terms, double most)
    {
        int kept = 0;
        for (int i = 0; i < _count; i++)
        {
            double off = Off(i, atS, scaleS, terms);
            if (_weight[i] * off * off > most)
                continue;
            (_time[kept], _turns[kept], _weight[kept]) = (_time[i], _turns[i], _weight[i]);
            kept++;
        }

        bool left = kept < _count && kept > 2 * terms;
        _count = left ? kept : _count;
        return left;
    }
}
