namespace Acquire.Motion;

/// <summary>Where a spin ended, and whether its last mark was seen.</summary>
/// <param name="StopS">Calibrated seconds since the run's first pulse.</param>
/// <param name="UStopS">Its standard uncertainty, seconds.</param>
/// <param name="LastMarkS">The last mark that the body's own turning brought, seconds.</param>
/// <param name="LastTurnsPerS">The speed there, turns a second.</param>
/// <param name="IsSeen">False where marks ceased at a speed at which a body still stands: the end is then a forecast.</param>
public readonly record struct SpinEnd(double StopS, double UStopS, double LastMarkS, double LastTurnsPerS, bool IsSeen)
{
    private const int Window = 24;           // marks that foretell the next
    private const int Least = 8;
    private const int Tail = 60;             // turns in which the fall and the rolling after it may hide
    private const double GateSpacings = 0.12;
    private const double FitSpacings = 0.02;
    private const int BadMarks = 3;
    private const double FallS = 1;          // no fall takes longer
    private const double LawS = 4;
    private const double LateTurns = 0.05;
    private const double LongestDecays = 20; // a deceleration less than this many lives of the run is not told from none
    private const double RestTurns = 4;      // a wheel that slow stops within so many turns, marks too slow to be told among them
    private const double LowestShare = 0.35; // of the speed below which a spin may end: slower than this none stands

    /// <summary>Places the end.</summary>
    /// <param name="marks">The run's marks, at least four.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    /// <param name="stopBelowTurnsPerS">Below this a spin may end by itself, turns a second.</param>
    public static SpinEnd Place(MarkSeries marks, int marksPerTurn, double stopBelowTurnsPerS)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(marks.Count, 4);
        int last = BeforeFall(marks, LastOwn(marks, marksPerTurn));
        double timeS = marks.TimeS[last];
        (double speed, double decel) = Motion(marks, last);
        double spacing = Math.Min(1.0 / marksPerTurn / speed, timeS - marks.TimeS[0]);
        double missed = MissedOfLate(marks, last, marksPerTurn);
        if (speed > stopBelowTurnsPerS)
            return Forecast(timeS, speed, decel, stopBelowTurnsPerS);

        // A wheel that could turn hardly on came to rest by itself. Anything else fell before the next mark came.
        double reach = decel > 0 ? speed * speed / (2 * decel) : double.PositiveInfinity;
        if (reach < RestTurns)
            return new SpinEnd(timeS + (speed / decel), 0.3 * speed / decel, timeS, speed, true);
        return new SpinEnd(timeS + (spacing / 2), StopInterval.U(spacing / 2, 0, missed), timeS, speed, true);
    }

    // The last mark that came when those before it foretold it; three in a row that did not end the search.
    private static int LastOwn(MarkSeries marks, int marksPerTurn)
    {
        int begin = AfterLastGap(marks);
        int start = Math.Max(begin + Least, marks.FirstAtOrAfter(TimeOfTail(marks)));
        int last = Math.Min(start, marks.Count) - 1;
        var own = new List<int>();
        for (int i = Math.Max(begin, last - Window + 1); i <= last; i++)
            own.Add(i);
        int bad = 0;
        for (int i = last + 1; i < marks.Count && bad < BadMarks && own.Count >= Least; i++)
        {
            if (Fits(marks, own, i, marksPerTurn))
            {
                own.Add(i);
                if (own.Count > Window)
                    own.RemoveAt(0);
                bad = 0;
            }
            else if (++bad == BadMarks && Anew(marks, own, i - BadMarks + 1, marksPerTurn))
            {
                own = [.. Enumerable.Range(i - BadMarks + 1, Least)];
                i = own[^1];
                bad = 0;
            }
        }

        // One that stands alone after missed ones may be a flash that came by chance.
        double reach = 3.5 / marksPerTurn;
        while (own.Count > Least && marks.Turns[own[^1]] - marks.Turns[own[^3]] > reach)
            own.RemoveAt(own.Count - 1);
        return own.Count > 0 ? own[^1] : marks.Count - 1;
    }

    // Where the sensor sees some of the fall, its marks come ever later than the law of the second before lets them.
    private static int BeforeFall(MarkSeries marks, int last)
    {
        int to = marks.FirstAtOrAfter(marks.TimeS[last] - FallS);
        int from = marks.FirstAtOrAfter(marks.TimeS[last] - FallS - LawS);
        from = Math.Min(from, to - Least);
        if (from < AfterLastGap(marks))
            return last;
        LocalFit fit = LocalFit.At(marks, from, to, marks.TimeS[to - 1], 2);
        double late = Math.Max(LateTurns, 3 * fit.ResidualRms);
        bool IsLate(int i)
        {
            double dt = marks.TimeS[i] - marks.TimeS[to - 1];
            return marks.Turns[to - 1] + (fit.Speed * dt) + (0.5 * fit.Acceleration * dt * dt) - marks.Turns[i] > late;
        }

        for (int i = to; i <= last; i++)
        {
            if (IsLate(i) && (i == last || IsLate(i + 1)))
                return i - 1;
        }

        return last;
    }

    // Marks that were lost and came back begin anew; a few stray flashes after a gap do not.
    private static int AfterLastGap(MarkSeries marks)
    {
        for (int i = marks.Count - Least; i > 0; i--)
        {
            if (marks.TimeS[i] - marks.TimeS[i - 1] > 1 && marks.Turns[i] - marks.Turns[i - 1] > 4)
                return i;
        }

        return 0;
    }

    private static double TimeOfTail(MarkSeries marks)
    {
        int at = Array.BinarySearch(marks.Turns, marks.Turns[^1] - Tail);
        return marks.TimeS[Math.Min(at >= 0 ? at : ~at, marks.Count - 1)];
    }

    // Whether the marks from here on are those of a body about as fast as the one before: then it was only the law's fit that broke.
    private static bool Anew(MarkSeries marks, List<int> own, int from, int marksPerTurn)
    {
        if (from + Least > marks.Count)
            return false;
        LocalFit fit = LocalFit.At(marks, from, from + Least, marks.TimeS[from], 2);
        double before = (marks.Turns[own[^1]] - marks.Turns[own[^Least]]) / (marks.TimeS[own[^1]] - marks.TimeS[own[^Least]]);
        return fit.ResidualRms < GateSpacings / marksPerTurn && Math.Abs((fit.Speed / before) - 1) < 0.15;
    }

    private static bool Fits(MarkSeries marks, List<int> own, int next, int marksPerTurn)
    {
        var window = new MarkSeries([.. own.Select(i => marks.TimeS[i])], [.. own.Select(i => marks.Turns[i])]);
        LocalFit fit = LocalFit.At(window, 0, window.Count, window.TimeS[^1], 2);
        double dt = marks.TimeS[next] - window.TimeS[^1];
        double foretold = window.Turns[^1] + (fit.Speed * dt) + (0.5 * fit.Acceleration * dt * dt);
        double spread = (3 * fit.ResidualRms) + (fit.USpeed * dt) + (FitSpacings / marksPerTurn);
        double gate = Math.Max(GateSpacings / marksPerTurn, Math.Min(2 * spread, 0.3 / marksPerTurn));
        return dt < 2 && Math.Abs(marks.Turns[next] - foretold) < gate;
    }

    private static (double Speed, double Decel) Motion(MarkSeries marks, int last)
    {
        int from = Math.Max(0, last - Window + 1);
        if (last + 1 - from < 4)
            return ((marks.Turns[last] - marks.Turns[0]) / (marks.TimeS[last] - marks.TimeS[0]), 0);
        LocalFit fit = LocalFit.At(marks, from, last + 1, marks.TimeS[last], 2);
        return (Math.Max(fit.Speed, 1e-3), -fit.Acceleration);
    }

    // Share of the marks missed among the last few hundred.
    private static double MissedOfLate(MarkSeries marks, int last, int marksPerTurn)
    {
        int from = Math.Max(AfterLastGap(marks), last - 300);
        double passed = Math.Max(1, ((marks.Turns[last] - marks.Turns[from]) * marksPerTurn) + 1);
        return Math.Clamp(1 - ((last - from + 1) / passed), 0, 0.9);
    }

    // Somewhere between the moment at which the law lets it fall and that by which it must have fallen; the law's power is not known,
    // so that the deceleration is taken to lessen with the speed or not.
    private static SpinEnd Forecast(double timeS, double speed, double decel, double stopBelow)
    {
        decel = Math.Max(decel, speed / (LongestDecays * timeS));
        double soonest = (speed - stopBelow) / decel;
        double latest = speed / decel * ((speed / (LowestShare * stopBelow)) - 1);
        double middle = 0.5 * (soonest + latest);
        return new SpinEnd(timeS + middle, (latest - soonest) / Math.Sqrt(12), timeS, speed, false);
    }
}
