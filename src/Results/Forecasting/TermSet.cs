using Acquire.Results.Losses;
using MathNet.Numerics.Distributions;

namespace Acquire.Results.Forecasting;

/// <summary>One set of exponents: draws of its coefficients, none negative, with the logarithm of each draw's weight.</summary>
internal sealed class TermSet
{
    private const double Tail = 6;             // standard deviations: beyond, a normal's tail is drawn by its leading term
    private const double Alone = 0.3;          // hardly any body has one loss only,
    private const double NoContact = 0.4;      // and what stands on a tip or runs in bearings has contact
    private readonly LawEvidence _evidence;
    private readonly int[] _terms;
    private readonly double[,] _root;
    private readonly double[] _right;
    private readonly double _rest;
    private readonly double _log;
    private readonly double[] _middle;
    private readonly EvenPoints _points;

    public TermSet(LawEvidence evidence, int set, double middleRadPerS)
    {
        _evidence = evidence;
        int all = LossLaw.Exponents.Count;
        _terms = [.. Enumerable.Range(0, all).Where(k => (set >> k & 1) == 1)];
        int m = _terms.Length;
        _middle = [.. _terms.Select(k => LossLaw.Power(middleRadPerS / LossLaw.OmegaRefRadPerS, LossLaw.Exponents[k]))];
        (_root, _right, _rest) = Reduced(evidence, _terms);
        _points = new EvenPoints(m + 1);

        // As many sets of m terms as there are share one chance.
        _log = SpecialLog(m - 1) + _middle.Sum(Math.Log) - Math.Log(Binomial(all, m)) + Math.Log(m == 1 ? Alone : 1) + Math.Log(_terms[0] == 0 ? 1 : NoContact);
        for (int i = 0; i < m; i++)
            _log += (0.5 * Math.Log(2 * Math.PI)) - Math.Log(Math.Abs(_root[i, i]));
    }

    /// <summary>The logarithm of each draw's weight.</summary>
    public List<double> Weights { get; } = [];

    /// <summary>Each draw: a coefficient for each candidate exponent.</summary>
    public List<double[]> Coefficients { get; } = [];

    /// <summary>Logarithm of how well the set explains the data, as far as draws tell.</summary>
    public double LogEvidence
    {
        get
        {
            double most = Weights.Max();
            return double.IsFinite(most) ? most + Math.Log(Weights.Average(w => Math.Exp(w - most))) : double.NegativeInfinity;
        }
    }

    /// <summary>Draws.</summary>
    public void Take(int count)
    {
        int m = _terms.Length;
        double[] u = new double[m + 1];
        for (int n = 0; n < count; n++)
        {
            _points.Next(u);
            double noise = _evidence.Colour / ChiSquaredOverFreedom(u[m]);
            double root = Math.Sqrt(noise);
            double weight = _log - (_rest / (2 * noise)) - (0.5 * (LossLaw.Exponents.Count - m) * Math.Log(noise));
            double[] drawn = new double[LossLaw.Exponents.Count];
            double loss = 0;
            for (int i = m - 1; i >= 0; i--)
            {
                double sum = _right[i];
                for (int j = i + 1; j < m; j++)
                    sum -= _root[i, j] * drawn[_terms[j]];
                double scale = root / Math.Abs(_root[i, i]);
                double mean = sum / _root[i, i];
                (double z, double log) = Above(-mean / scale, u[i]);
                drawn[_terms[i]] = Math.Max(0, mean + (scale * z));
                weight += log;
                loss += drawn[_terms[i]] * _middle[i];
            }

            Weights.Add(loss > 0 ? weight - (m * Math.Log(loss)) : double.NegativeInfinity);
            Coefficients.Add(drawn);
        }
    }

    // Wilson and Hilferty 1931 (from memory): right to a thousandth from eight degrees of freedom on, and far quicker than the inverse itself.
    private double ChiSquaredOverFreedom(double u)
    {
        double share = 2.0 / (9 * _evidence.Freedom);
        return Math.Pow(Math.Max(0.1, 1 - share + (Math.Sqrt(share) * Normal.InvCDF(0, 1, u))), 3);
    }

    // A standard normal above a limit, and the logarithm of the chance of that.
    private static (double Z, double Log) Above(double limit, double u)
    {
        if (limit < Tail)
        {
            double above = Normal.CDF(0, 1, -limit);
            return (-Normal.InvCDF(0, 1, Math.Max(u * above, 1e-300)), Math.Log(above));
        }

        // z·exp(−z²/2) stands in for exp(−z²/2): the draw's weight puts it right.
        double z = Math.Sqrt((limit * limit) - (2 * Math.Log(u)));
        return (z, (-0.5 * limit * limit) - Math.Log(z * Math.Sqrt(2 * Math.PI)));
    }

    // The triangular factor of some of the columns, by Givens rotations.
    private static (double[,] Root, double[] Right, double Left) Reduced(LawEvidence evidence, int[] terms)
    {
        int all = evidence.Right.Length;
        int m = terms.Length;
        double[,] a = new double[all, m];
        double[] q = (double[])evidence.Right.Clone();
        for (int i = 0; i < all; i++)
        {
            for (int j = 0; j < m; j++)
                a[i, j] = evidence.Root[i, terms[j]];
        }

        for (int j = 0; j < m; j++)
        {
            for (int i = j + 1; i < all; i++)
            {
                double h = double.Hypot(a[j, j], a[i, j]);
                if (!(h > 0) || a[i, j] == 0)
                    continue;
                (double c, double s) = (a[j, j] / h, a[i, j] / h);
                for (int k = j; k < m; k++)
                    (a[j, k], a[i, k]) = ((c * a[j, k]) + (s * a[i, k]), (c * a[i, k]) - (s * a[j, k]));
                (q[j], q[i]) = ((c * q[j]) + (s * q[i]), (c * q[i]) - (s * q[j]));
            }
        }

        double rest = 0;
        for (int i = m; i < all; i++)
            rest += q[i] * q[i];
        return (a, q, rest);
    }

    private static double SpecialLog(int n) => MathNet.Numerics.SpecialFunctions.FactorialLn(n);

    private static double Binomial(int n, int k) => MathNet.Numerics.SpecialFunctions.Binomial(n, k);
}
