using Acquire.Conditioning;
using Acquire.Recording;

namespace Acquire.Results.Losses;

/// <summary>The marks of the free part of a spin, in the columns of its pulses.</summary>
public sealed class SpinMarks
{
    private SpinMarks(double[] timeS, double[] turns, short[] mark, double fromS, double toS)
    {
        (TimeS, Turns, Mark) = (timeS, turns, mark);
        From = FirstAtOrAfter(fromS);
        To = Math.Max(From, FirstAtOrAfter(toS));
        for (int i = From; i < To; i++)
        {
            if (!Has(i))
                continue;
            Count++;
            Kinds = Math.Max(Kinds, mark[i] + 1);
        }
    }

    /// <summary>How many marks.</summary>
    public int Count { get; }

    internal double[] TimeS { get; }

    internal double[] Turns { get; }

    internal short[] Mark { get; }

    /// <summary>Place of the first pulse of the free part.</summary>
    internal int From { get; }

    /// <summary>Place after its last.</summary>
    internal int To { get; }

    /// <summary>Marks a turn, as far as they were seen.</summary>
    internal int Kinds { get; } = 1;

    /// <summary>Takes them from a run as it was read.</summary>
    /// <param name="pulses">The pulses.</param>
    /// <param name="fromS">Where the free part begins, seconds since the first pulse.</param>
    /// <param name="toS">Where it ends.</param>
    public static SpinMarks Of(RunPulses pulses, double fromS, double toS) => new(pulses.TimeS, pulses.Turns, pulses.Mark, fromS, toS);

    /// <summary>Takes them from judged pulses.</summary>
    /// <param name="pulses">Judged pulses in order; the first is at 0 s.</param>
    /// <param name="secondsPerTick">Calibrated seconds a tick.</param>
    /// <param name="fromS">Where the free part begins.</param>
    /// <param name="toS">Where it ends.</param>
    public static SpinMarks Of(IReadOnlyList<JudgedPulse> pulses, double secondsPerTick, double fromS, double toS) => new(
        [.. pulses.Select(p => (p.Ticks - pulses[0].Ticks) * secondsPerTick)],
        [.. pulses.Select(p => p.Turns)],
        [.. pulses.Select(p => p.Kind == PulseKind.Mark ? p.Mark : (short)-1)],
        fromS,
        toS);

    /// <summary>Takes the first mark of each turn, or of some.</summary>
    /// <param name="timeS">When, rising.</param>
    /// <param name="turns">At which angle, turns.</param>
    /// <param name="fromS">Where the free part begins.</param>
    public static SpinMarks Of(double[] timeS, double[] turns, double fromS)
    {
        ArgumentNullException.ThrowIfNull(timeS);
        return new(timeS, turns, new short[timeS.Length], fromS, double.PositiveInfinity);
    }

    /// <summary>The part of a spin in which nothing but the loss acts on the body: a little after the release until a little before the end.</summary>
    /// <param name="releaseS">When the hand let go.</param>
    /// <param name="stopS">When the spin ended.</param>
    public static (double FromS, double ToS) FreePart(double releaseS, double stopS)
    {
        double margin = Math.Max(1, 0.01 * (stopS - releaseS));
        return (releaseS + margin, stopS - margin);
    }

    internal bool Has(int i) => Mark[i] >= 0 && double.IsFinite(Turns[i]);

    private int FirstAtOrAfter(double timeS)
    {
        int at = Array.BinarySearch(TimeS, timeS);
        return at >= 0 ? at : ~at;
    }
}
