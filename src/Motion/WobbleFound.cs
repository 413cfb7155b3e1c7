namespace Acquire.Motion;

/// <summary>A free decay taken apart: the smooth curve, the wobble if one stands out, and what they leave of each mark.</summary>
internal sealed class WobbleFound
{
    private const int SizesShown = 24;

    private WobbleFound(MarkSeries marks, in DecayCurveFit.Fitted fit, double constant, double u)
    {
        Curve = fit.Curve;
        Constant = constant;
        U = u;
        Fit = fit;
        Marks = marks;
        Rest = fit.Left;
        if (fit.Wobble.Length == 0)
            return;
        Rest = [.. fit.Left.Zip(fit.Wobble, (left, wobble) => left - wobble)];
        Sizes = SizesOf(marks, fit);
    }

    /// <summary>The smooth curve.</summary>
    public DecayCurve Curve { get; }

    /// <summary>The fit.</summary>
    public DecayCurveFit.Fitted Fit { get; }

    /// <summary>The marks that it was made from.</summary>
    public MarkSeries Marks { get; }

    /// <summary>Phase of the wobble at each mark, radians; null for none.</summary>
    public double[]? PhaseAt { get; private init; }

    /// <summary>What curve and wobble leave of each mark, turns.</summary>
    public double[] Rest { get; }

    /// <summary>Precession constant, 1/s²; NaN for no wobble.</summary>
    public double Constant { get; }

    /// <summary>Its standard uncertainty.</summary>
    public double U { get; }

    /// <summary>The size along the run.</summary>
    public IReadOnlyList<WobbleSize> Sizes { get; } = [];

    /// <summary>Whether the curve is one that marks can have: near the speed that each few of them show.</summary>
    public bool IsSane
    {
        get
        {
            double[] rough = RoughSpeeds(Marks);
            int near = 0;
            for (int i = 0; i < rough.Length; i++)
            {
                if (!(Math.Abs((Curve.Speed(Marks.TimeS[i], ref near) / rough[i]) - 1) < 0.5))
                    return false;
            }

            return true;
        }
    }

    /// <summary>Takes a free decay apart.</summary>
    public static WobbleFound In(MarkSeries marks)
    {
        double[] speeds = RoughSpeeds(marks);
        DecayCurveFit.Fitted plain = DecayCurveFit.Fine(marks, speeds, null);
        if (MarkPlaces.Settled(marks, plain.Left, speeds) is { } settled)
        {
            marks = settled;
            plain = DecayCurveFit.Fine(marks, speeds, null);
        }

        double[] stretched = WobbleLine.Stretched(marks, plain.Curve);
        double constant = WobbleLine.Find(stretched, plain.Left, speeds, plain.Curve.Basis.Intervals);
        if (double.IsNaN(constant))
            return new WobbleFound(marks, plain, double.NaN, double.NaN);
        DecayCurveFit.Fitted fit = plain;
        double u = double.NaN;
        for (int round = 0; round < 2; round++)
        {
            double[] phases = Phases(stretched, constant);
            fit = DecayCurveFit.Fine(marks, speeds, phases);
            if (WobbleRate.Refine(stretched, phases, speeds, fit, constant) is not { } better)
                return new WobbleFound(marks, fit, constant, 1 / stretched[^1]) { PhaseAt = phases };
            constant += better.Change;
            u = better.U;
            stretched = WobbleLine.Stretched(marks, fit.Curve);
        }

        double[] last = Phases(stretched, constant);
        return new WobbleFound(marks, DecayCurveFit.Fine(marks, speeds, last), constant, u) { PhaseAt = last };
    }

    private static double[] Phases(double[] stretched, double constant) =>
        Array.ConvertAll(stretched, s => 2 * Math.PI * constant * s);

    // Over some marks on both sides: for weights only.
    private static double[] RoughSpeeds(MarkSeries marks)
    {
        double[] speeds = new double[marks.Count];
        for (int i = 0; i < speeds.Length; i++)
        {
            int a = Math.Max(0, i - 16);
            int b = Math.Min(speeds.Length - 1, i + 16);
            speeds[i] = Math.Max(1e-3, (marks.Turns[b] - marks.Turns[a]) / (marks.TimeS[b] - marks.TimeS[a]));
        }

        return speeds;
    }

    private static List<WobbleSize> SizesOf(MarkSeries marks, in DecayCurveFit.Fitted fit)
    {
        var sizes = new List<WobbleSize>(SizesShown);
        int near = 0;
        double perSize = marks.Count / (double)Math.Min(SizesShown, Math.Max(1, marks.Count / 20));
        for (double from = 0; from + perSize <= marks.Count + 0.5; from += perSize)
        {
            (int a, int b) = ((int)from, Math.Min(marks.Count, (int)(from + perSize)));
            (double size, double rest) = (0, 0);
            for (int i = a; i < b; i++)
            {
                size += fit.Size[i] / (b - a);
                rest += Math.Pow(fit.Left[i] - fit.Wobble[i], 2) / (b - a);
            }

            double middleS = marks.TimeS[(a + b) / 2];
            double speed = fit.Curve.Speed(middleS, ref near);
            sizes.Add(new WobbleSize(middleS, 60 * speed, size, Math.Sqrt(2 * rest / (b - a))));
        }

        return sizes;
    }
}
