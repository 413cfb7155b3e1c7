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

    /// <summary>Marks by groups of <paramref name="size"/>, each group by its mean time and angle: as good for a fit over many groups, and
    /// cheaper.</summary>
    public MarkSeries Grouped(int size)
    {
        if (size <= 1)
            return this;
        int groups = Count / size;
        double[] time = new double[groups];
        double[] turns = new double[groups];
        for (int g = 0; g < groups; g++)
        {
            int from = g * size;
            (double t, double a) = (0, 0);
            for (int i = from; i < from + size; i++)
            {
                t += TimeS[i] - TimeS[from];
                a += Turns[i] - Turns[from];
            }

            time[g] = TimeS[from] + (t / size);
            turns[g] = Turns[from] + (a / size);
        }

        return new MarkSeries(time, turns);
    }
}
