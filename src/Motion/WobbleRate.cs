using System.Numerics;

namespace Acquire.Motion;

/// <summary>Makes a precession constant exact by the phase of the wobble along the run, and says how well it is known.</summary>
/// <remarks>A phase that turns evenly is a frequency that is off: weighted line through the phases of blocks, each as sure as its size
/// over its noise (Tretter 1985, from memory), stretched where they scatter by more than that.</remarks>
internal static class WobbleRate
{
    private const int MostBlocks = 240;
    private const double LeastSure = 4;       // of the square of size over noise, for a phase to count

    private readonly record struct Block(double At, Complex Seen, double Sure);

    /// <summary>What to add to the constant, and its standard uncertainty; null where too few phases are to be had.</summary>
    public static (double Change, double U)? Refine(
        double[] stretched, double[] phases, double[] speeds, in DecayCurveFit.Fitted fit, double constant)
    {
        double span = stretched[^1];
        int blocks = (int)Math.Clamp(span * constant / 3, 4, MostBlocks);
        List<Block> seen = Blocks(stretched, phases, speeds, fit, span / blocks * 1.0000001);
        if (seen.Count < 4)
            return null;
        double change = Coarse(seen, span);
        double sum = 0, at = 0;
        Complex mean = Complex.Zero;
        foreach (Block b in seen)
        {
            sum += b.Sure;
            at += b.Sure * b.At;
            mean += b.Sure / b.Seen.Magnitude * Turned(b, change);
        }

        at /= sum;
        (double xx, double xy, double x0) = (0, 0, 0);
        var off = new List<(double X, double Phase, double Sure)>(seen.Count);
        foreach (Block b in seen)
        {
            double phase = (Turned(b, change) / mean).Phase;
            off.Add((b.At - at, phase, b.Sure));
            xx += b.Sure * (b.At - at) * (b.At - at);
            xy += b.Sure * (b.At - at) * phase;
            x0 += b.Sure * phase;
        }

        double slope = xy / xx;
        (double chi, double seenScatter, double squares) = (0, 0, 0);
        foreach ((double x, double phase, double sure) in off)
        {
            double rest = phase - (x0 / sum) - (slope * x);
            chi += sure * rest * rest / (off.Count - 2);
            seenScatter += sure * sure * x * x * rest * rest;
            squares += sure * sure * x * x * x * x;
        }

        // The surest blocks, at the ends, decide: how they scatter counts (White 1980), and how few of them there are.
        double effective = xx * xx / squares;
        double variance = Math.Max(Math.Max(1, chi) / xx, seenScatter / (xx * xx) * effective / Math.Max(1, effective - 2));
        double u = Math.Sqrt(variance) * StudentT.Stretch(Math.Max(3, (int)effective - 2));
        return (change - (slope / (2 * Math.PI)), u / (2 * Math.PI));
    }

    private static Complex Turned(in Block block, double change) =>
        block.Seen * Complex.FromPolarCoordinates(1, 2 * Math.PI * change * block.At);

    // The change that brings the blocks into step.
    private static double Coarse(List<Block> seen, double span)
    {
        (double best, double most) = (0, -1);
        for (int i = -80; i <= 80; i++)
        {
            double change = i / (40 * span);
            Complex sum = Complex.Zero;
            foreach (Block b in seen)
                sum += b.Sure / b.Seen.Magnitude * Turned(b, change);
            if (sum.Magnitude > most)
                (best, most) = (change, sum.Magnitude);
        }

        return best;
    }

    // With phase φ the wobble is Re(z̄·e^{iφ}): the phase of each block is that of the conjugate of what is seen.
    private static List<Block> Blocks(
        double[] stretched, double[] phases, double[] speeds, in DecayCurveFit.Fitted fit, double step)
    {
        var blocks = new List<Block>();
        int from = 0;
        while (from < stretched.Length)
        {
            double end = (Math.Floor(stretched[from] / step) + 1) * step;
            (double weights, double noise, double place, double size) = (0, 0, 0, 0);
            Complex z = Complex.Zero;
            int i = from;
            for (; i < stretched.Length && (i == from || stretched[i] < end); i++)
            {
                double w = 1 / (speeds[i] * speeds[i]);
                double rest = fit.Left[i] - fit.Wobble[i];
                z += w * fit.Left[i] * Complex.FromPolarCoordinates(1, -phases[i]);
                weights += w;
                noise += w * rest * rest;
                place += w * stretched[i];
                size += w * fit.Size[i];
            }

            int n = i - from;
            from = i;
            if (n < 6 || noise <= 0)
                continue;
            double amplitude = size / weights;
            double sure = n * amplitude * amplitude / (2 * noise / weights);
            if (sure > LeastSure && z != Complex.Zero)
                blocks.Add(new Block(place / weights, Complex.Conjugate(z), sure));
        }

        return blocks;
    }
}
