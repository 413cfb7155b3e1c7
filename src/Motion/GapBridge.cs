using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Counts the turns across a gap anew, from the speeds and decelerations that the marks on both sides show.</summary>
/// <remarks>Euler–Maclaurin summation formula, Abramowitz and Stegun 23.1.30 (from memory): the turns are the time times the mean speed,
/// plus dt²(ω̇₁−ω̇₂)/12; what is left is in proportion to dt⁴ and taken, doubled, for an exponential decay as uncertainty.</remarks>
public static class GapBridge
{
    private const double SideS = 30;
    private const int LeastMarks = 8;
    private const int MarksToTell = 24;  // in half a side, to tell whether the cubic follows all of it
    private const double Misfit = 1.5;

    // Over less than this the track foretells the turns surely, while marks of half a minute about it would tell little: where a lock broke
    // for an instant in a launch they bend by far more than the gap.
    private const double LeastGapS = 1;
    private const double LeastGapTurns = 4;
    private const double LeastPattern = 0.01; // of the spacing: marks less even than this are told apart

    /// <summary>The run with the turns after each gap shifted to the whole number of marks that fits best.</summary>
    /// <param name="run">The run as judged.</param>
    /// <param name="secondsPerTick">Calibrated seconds a tick.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public static JudgedRun Settle(JudgedRun run, double secondsPerTick, int marksPerTurn)
    {
        bool IsGap(Bridge bridge) =>
            (bridge.ToTicks - bridge.FromTicks) * secondsPerTick > LeastGapS && bridge.Turns > LeastGapTurns;

        if (!run.Bridges.Any(IsGap))
            return run;
        int step = HasPattern(run.MarkOffsets) ? 1 : marksPerTurn; // a pattern has told which mark it was: whole turns are left
        var pulses = run.Pulses.ToList();
        long missed = run.Missed;
        var bridges = new List<Bridge>();
        foreach (Bridge bridge in run.Bridges)
        {
            if (!IsGap(bridge))
            {
                bridges.Add(bridge);
                continue;
            }

            MarkSeries marks = MarkSeries.From(pulses, secondsPerTick);
            double fromS = (bridge.FromTicks - pulses[0].Ticks) * secondsPerTick;
            double toS = (bridge.ToTicks - pulses[0].Ticks) * secondsPerTick;
            if (Across(marks, fromS, toS) is not { } better)
            {
                bridges.Add(bridge);
                continue;
            }

            double shift = Math.Round((better.Turns - bridge.Turns) * step) / step;
            bridges.Add(bridge with { Turns = bridge.Turns + shift, UTurns = better.UTurns });
            missed += (long)Math.Round(shift * marksPerTurn);
            Shift(pulses, bridge.ToTicks, shift, marksPerTurn);
        }

        return run with { Pulses = pulses, Missed = missed, Bridges = bridges };
    }

    private static bool HasPattern(IReadOnlyList<double> offsets)
    {
        for (int i = 1; i < offsets.Count; i++)
        {
            if (Math.Abs((offsets[i] * offsets.Count) - i) > LeastPattern)
                return true;
        }

        return false;
    }

    private static (double Turns, double UTurns)? Across(MarkSeries marks, double fromS, double toS)
    {
        if (Side(marks, fromS, -SideS) is not { } a || Side(marks, toS, SideS) is not { } b)
            return null;
        double dt = toS - fromS;
        double bend = dt * dt * (a.Acceleration - b.Acceleration) / 12;
        double turns = (dt * (a.Speed + b.Speed) / 2) + bend;
        double decays = dt * (a.Speed - b.Speed) / (dt * Math.Max(b.Speed, 0.1));
        double byLaw = 2 * bend * decays * decays / 60;
        double bySpeed = dt * Math.Sqrt((a.USpeed * a.USpeed) + (b.USpeed * b.USpeed)) / 2;
        double byBend = dt * dt * Math.Sqrt((a.UAcceleration * a.UAcceleration) + (b.UAcceleration * b.UAcceleration)) / 12;
        return Within(turns, Math.Sqrt((byLaw * byLaw) + (byBend * byBend)), bySpeed, a.Speed, b.Speed, dt);
    }

    // Every loss law is a sum of powers of the speed from 0 to 2: the speed falls along a straight line at the most turns, along the
    // hyperbola of the power 2 at the fewest. Over a long gap that tells more than how the marks beside it bend.
    private static (double Turns, double UTurns)? Within(double turns, double u, double bySpeed, double before, double after, double dt)
    {
        if (!(after > 0) || before <= after)
            return after > 0 ? (turns, double.Hypot(u, bySpeed)) : null;
        double most = dt * (before + after) / 2;
        double fewest = Math.Min(most, dt * before * after / (before - after) * Math.Log(before / after)); // of speeds all but alike the digits that cancel say more
        return (Math.Clamp(turns, fewest, most), double.Hypot(Math.Min(u, (most - fewest) / Math.Sqrt(12)), bySpeed));
    }

    // As many seconds of marks beside the gap as a cubic follows: a side that reaches into a launch or over a knock is halved until it does.
    private static LocalFit? Side(MarkSeries marks, double atS, double sideS)
    {
        LocalFit? whole = Fit(marks, atS, sideS);
        if (whole is { Window: var seen })
            sideS = sideS < 0 ? seen.FromS - atS : seen.ToS - atS;
        while (Fit(marks, atS, sideS / 2) is { Count: >= MarksToTell } half && whole!.Value.ResidualRms > Misfit * half.ResidualRms)
            (whole, sideS) = (half, sideS / 2);
        return whole;
    }

    private static LocalFit? Fit(MarkSeries marks, double atS, double sideS)
    {
        int from = marks.FirstAtOrAfter(sideS < 0 ? atS + sideS : atS - 1e-9);
        int to = marks.FirstAtOrAfter(sideS < 0 ? atS + 1e-9 : atS + sideS);
        return to - from < LeastMarks ? null : LocalFit.At(marks, from, to, atS, 3);
    }

    // The mark that each pulse is changes too where the shift is no whole number of turns.
    private static void Shift(List<JudgedPulse> pulses, long fromTicks, double turns, int marksPerTurn)
    {
        if (turns == 0)
            return;
        int steps = (int)Math.Round(turns * marksPerTurn);
        for (int i = 0; i < pulses.Count; i++)
        {
            JudgedPulse p = pulses[i];
            if (p.Ticks < fromTicks)
                continue;
            short mark = p.Mark < 0 ? p.Mark : (short)((((p.Mark + steps) % marksPerTurn) + marksPerTurn) % marksPerTurn);
            pulses[i] = p with { Turns = p.Turns + turns, Mark = mark };
        }
    }
}
