using Acquire.Results.Fitting;

namespace Acquire.Results.Losses;

/// <summary>Takes a slow precession out of what a curve leaves of the marks: a wave whose rate goes as one over the speed and whose size changes
/// slowly. It bears next to nothing on the law, but would drown what tells laws apart.</summary>
internal static class WobbleOut
{
    private const int MostKnots = 24;
    private const double LeastCycles = 3;      // from knot to knot: fewer could be a bend of the law as well

    /// <summary>The wave as blocks of marks see it.</summary>
    /// <param name="Phase">Its phase at the middle of each block, radians.</param>
    /// <param name="Cos">Mean over the block's marks of the cosine of the phase.</param>
    /// <param name="Sin">The same of the sine.</param>
    public readonly record struct Wave(double[] Phase, double[] Cos, double[] Sin);

    /// <summary>What is left without the wave.</summary>
    /// <param name="left">What the curve leaves, rad.</param>
    /// <param name="sigma">Scatter of each.</param>
    /// <param name="wave">The wave.</param>
    public static double[] Of(double[] left, double[] sigma, Wave wave)
    {
        double[][] columns = Columns(wave);
        if (columns.Length < 4)
            return left;
        foreach (double[] column in columns)
        {
            for (int i = 0; i < left.Length; i++)
                column[i] /= sigma[i];
        }

        double[][] used = [.. columns.Select(c => (double[])c.Clone())];
        if (Householder.Solve(used, [.. left.Select((x, i) => x / sigma[i])]) is not { } found)
            return left;
        return [.. left.Select((x, i) => x - (sigma[i] * found.Solution.Select((a, k) => a * columns[k][i]).Sum()))];
    }

    /// <summary>Waves whose sum is the wave, whatever its size from place to place: for each place where the size may be another its cosine and its sine.</summary>
    /// <param name="wave">The wave.</param>
    public static double[][] Columns(Wave wave)
    {
        double last = wave.Phase[^1];
        int knots = (int)Math.Min(MostKnots, last / (2 * Math.PI * LeastCycles));
        if (knots < 2)
            return [(double[])wave.Cos.Clone(), (double[])wave.Sin.Clone()];
        double[][] columns = [.. Enumerable.Range(0, 2 * knots).Select(_ => new double[wave.Phase.Length])];
        for (int i = 0; i < wave.Phase.Length; i++)
        {
            double place = wave.Phase[i] / last * (knots - 1);
            int knot = Math.Min((int)place, knots - 2);
            foreach ((int k, double share) in new[] { (knot, knot + 1 - place), (knot + 1, place - knot) })
            {
                columns[2 * k][i] = share * wave.Cos[i];
                columns[(2 * k) + 1][i] = share * wave.Sin[i];
            }
        }

        return columns;
    }

    /// <summary>The phase at moments, from 0 at the first.</summary>
    /// <param name="timeS">The moments.</param>
    /// <param name="curve">The spin.</param>
    /// <param name="constantPerS2">Precessions a second times turns a second.</param>
    public static double[] Phases(double[] timeS, LawCurve curve, double constantPerS2)
    {
        double[] phase = new double[timeS.Length];
        double Rate(double t) => PerS(t, curve, constantPerS2);
        for (int i = 1; i < timeS.Length; i++)
        {
            double step = timeS[i] - timeS[i - 1];
            double middle = 0.5 * (timeS[i] + timeS[i - 1]);
            phase[i] = phase[i - 1] + (step / 6 * (Rate(timeS[i - 1]) + (4 * Rate(middle)) + Rate(timeS[i])));
        }

        return phase;
    }

    /// <summary>Its rate at a moment, rad/s.</summary>
    public static double PerS(double timeS, LawCurve curve, double constantPerS2) => 4 * Math.PI * Math.PI * constantPerS2 / curve.Speed(timeS);
}
