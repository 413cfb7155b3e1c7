using Acquire.Acquisition;

namespace Acquire.Service.Sensor;

/// <summary>Judges from a few seconds of pulses whether a sensor is fit for a launch. No input or output.</summary>
public static class SensorJudge
{
    private const int LeastPulses = 8;
    private const int BadLinesAtStart = 1;      // the watch may begin in the middle of a line
    private const double MostBounce = 0.02;     // of the pulses
    private const double MostStep = 0.8;        // |ln| of two intervals in a row: hands stay well below, chance is at 1.66
    private const double MostShareSpread = 0.3;
    private const double WidestTurnShare = 0.6;
    private const double NarrowTurnShare = 0.05; // 18°; the hardware's guide asks for 30°

    /// <summary>Judges.</summary>
    /// <param name="view">What was seen.</param>
    /// <param name="aim">What it is held to.</param>
    public static SensorReport Judge(SensorView view, SensorAim aim)
    {
        ArgumentNullException.ThrowIfNull(view);
        ArgumentNullException.ThrowIfNull(aim);
        List<Pulse> pulses = Apart(view, aim, out int tooClose);
        double[] timeS = [.. pulses.Select(pulse => (pulse.Ticks - pulses[0].Ticks) / view.TickHz)];
        double[] intervals = [.. timeS.Skip(1).Zip(timeS, (later, earlier) => later - earlier)];
        double[] widths = [.. pulses.Where(pulse => pulse.WidthTicks > 0).Select(pulse => pulse.WidthTicks / view.TickHz)];
        (double intervalS, double intervalSpread) = Spread.Of(intervals);
        (double widthS, double widthSpread) = Spread.Of(widths);
        (double turnShare, double turnShareSpread) = Spread.Of(TurnShares(pulses, timeS, view.TickHz, aim.Marks));
        var report = new SensorReport
        {
            View = view,
            Aim = aim,
            Faults = [],
            PulsesPerS = view.WatchedS > 0 ? view.Pulses.Count / view.WatchedS : 0,
            IntervalS = intervalS,
            IntervalSpread = intervalSpread,
            IntervalStep = Spread.Size(intervals.Skip(1).Zip(intervals, (later, earlier) => Math.Log(later / earlier))),
            WidthS = widthS,
            WidthSpread = widthSpread,
            TurnShare = turnShare,
            TurnShareSpread = turnShareSpread,
            LampHz = LampFinder.Find(timeS),
            Repeat = MarkPattern.Find(intervals, widths.Length == pulses.Count ? widths : []),
            TooClose = tooClose,
        };
        return report with { Faults = [.. OfSensor(report), .. OfMarks(report), .. OfLine(report)] };
    }

    private static List<Pulse> Apart(SensorView view, SensorAim aim, out int tooClose)
    {
        double least = 0.4 * view.TickHz * 60 / (aim.MaxRpm * aim.Marks); // closer than the tracker of marks allows
        var apart = new List<Pulse>(view.Pulses.Count);
        foreach (Pulse pulse in view.Pulses)
        {
            if (apart.Count == 0 || pulse.Ticks - apart[^1].Ticks >= least)
                apart.Add(pulse);
        }

        tooClose = view.Pulses.Count - apart.Count;
        return apart;
    }

    // A mark's width over the time of the turn about it, which the neighbours before and after give.
    private static List<double> TurnShares(List<Pulse> pulses, double[] timeS, double tickHz, int marks)
    {
        var shares = new List<double>();
        for (int i = 1; i + 1 < pulses.Count; i++)
        {
            if (pulses[i].WidthTicks > 0)
                shares.Add(pulses[i].WidthTicks / tickHz / ((timeS[i + 1] - timeS[i - 1]) / 2) / marks);
        }

        return shares;
    }

    private static IEnumerable<SensorFault> OfSensor(SensorReport report)
    {
        int pulses = report.View.Pulses.Count;
        if (!report.View.Lines)
            yield return report.View.Counts.BadLines > BadLinesAtStart ? SensorFault.Garbled : SensorFault.Silent;
        else if (pulses == 0)
            yield return SensorFault.NothingSeen;
        else if (report.LampHz is not null)
            yield return SensorFault.Lamp;
        else if (pulses < LeastPulses)
            yield return SensorFault.TooFew;
        else if (report.Repeat is null && report.IntervalStep > MostStep)
            yield return SensorFault.Irregular;
        else if (report.TooClose > MostBounce * pulses)
            yield return SensorFault.Bounce;
    }

    private static IEnumerable<SensorFault> OfMarks(SensorReport report)
    {
        int pulses = report.View.Pulses.Count;
        if (report.LampHz is not null || pulses < LeastPulses)
            yield break;
        if (report.Repeat is int repeat && report.Aim.Marks % repeat != 0)
            yield return SensorFault.OtherMarks;
        if (report.Aim.Turns is int turns && Math.Abs(pulses - report.TooClose - (turns * report.Aim.Marks)) > 1)
            yield return SensorFault.OtherCount;
        if (report.TurnShareSpread > MostShareSpread && report.IntervalStep <= MostStep && report.Repeat is null)
            yield return SensorFault.UnsteadyWidth;
        if (report.TurnShare * report.Aim.Marks > WidestTurnShare)
            yield return SensorFault.WideMark;
        else if (report.TurnShare < NarrowTurnShare / report.Aim.Marks)
            yield return SensorFault.NarrowMark;
    }

    private static IEnumerable<SensorFault> OfLine(SensorReport report)
    {
        SourceCounts counts = report.View.Counts;
        if (report.View.Lines && counts.BadLines > BadLinesAtStart)
            yield return SensorFault.BadLines;
        if (counts.LostOnLine > 0)
            yield return SensorFault.LostOnLine;
        if (counts.DroppedByBoard > 0)
            yield return SensorFault.DroppedByBoard;
        if (counts.Restarts > 0)
            yield return SensorFault.Restarted;
        if (report.View.LinkLosses > 0)
            yield return SensorFault.LinkLost;
    }
}
