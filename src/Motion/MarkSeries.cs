using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>The marks of a run as plain columns: when, and at which angle.</summary>
/// <param name="TimeS">Calibrated seconds since the first pulse, rising.</param>
/// <param name="Turns">Turn angle of each, turns.</param>
public sealed record MarkSeries(double[] TimeS, double[] Turns)
{
    /// <summary>How many.</summary>
    public int Count => TimeS.Length;

    /// <summary>Takes the marks out of judged pulses.</summary>
    /// <param name="pulses">Judged pulses in order; the first is at 0 s.</param>
    /// <param name="secondsPerTick">Calibrated seconds a tick.</param>
    public static MarkSeries From(IReadOnlyList<JudgedPulse> pulses, double secondsPerTick)
    {
        int count = 0;
        for (int i = 0; i < pulses.Count; i++)
            count += pulses[i].Kind == PulseKind.Mark ? 1 : 0;
        double[] time = new double[count];
        double[] turns = new double[count];
        long origin = pulses.Count > 0 ? pulses[0].Ticks : 0;
        int at = 0;
        for (int i = 0; i < pulses.Count; i++)
        {
            if (pulses[i].Kind != PulseKind.Mark)
                continue;
            time[at] = (pulses[i].Ticks - origin) * secondsPerTick;
            turns[at++] = pulses[i].Turns;
        }

        return new MarkSeries(time, turns);
    }

    /// <summary>Index of the first mark at or after a time; <see cref="Count"/> where there is none.</summary>
    public int FirstAtOrAfter(double timeS)
    {
        int at = Array.BinarySearch(TimeS, timeS);
        return at >= 0 ? at : ~at;
    }

    /// <summary>Marks by groups of <paramref name="size"/>, each group by its mean time and the angle then: as good for a fit over many
    /// groups, and cheaper.</summary>
    public MarkSeries Grouped(int size)
    {
        if (size <= 1)
            return this;
        int groups = Count / size;
        double[] time = new double[groups];
        double[] turns = new double[groups];
        double[] spread = new double[groups];
        for (int g = 0; g < groups; g++)
        {
            int from = g * size;
            (double t, double tt, double a) = (0, 0, 0);
            for (int i = from; i < from + size; i++)
            {
                double dt = TimeS[i] - TimeS[from];
                t += dt;
                tt += dt * dt;
                a += Turns[i] - Turns[from];
            }

            time[g] = TimeS[from] + (t / size);
            turns[g] = Turns[from] + (a / size);
            spread[g] = (tt / size) - (t / size * (t / size));
        }

        return new MarkSeries(time, Unbent(time, turns, spread));
    }

    // The mean angle of a group is not the angle at its mean time where the speed falls: it lies behind by half the acceleration times the
    // variance of the times. That is next to nothing, but grows as groups grow longer, and the speed would be seen too low.
    private static double[] Unbent(double[] time, double[] turns, double[] spread)
    {
        const int Reach = 8;
        double[] unbent = new double[turns.Length];
        for (int g = 0; g < turns.Length; g++)
        {
            int middle = Math.Clamp(g, Reach, Math.Max(Reach, turns.Length - 1 - Reach));
            int last = Math.Min(turns.Length - 1, middle + Reach);
            int first = middle - Reach;
            unbent[g] = turns[g];
            if (last - middle < Reach)
                continue;
            double before = (turns[middle] - turns[first]) / (time[middle] - time[first]);
            double after = (turns[last] - turns[middle]) / (time[last] - time[middle]);
            unbent[g] -= (after - before) / (time[last] - time[first]) * spread[g];
        }

        return unbent;
    }
}
