namespace Acquire.Motion;

/// <summary>How long the marks of the run under way have been away, when that ends it, and with which pulse.</summary>
internal sealed class SilenceWatch(RunRules rules, HeardPulses heard, OpenRun run)
{
    private const double ComesS = 2;       // while pulses come nothing is ended that they may yet turn out to belong to
    private const int StraysToWitness = 3; // so many pulses that are no marks show that the sensor sees and the body has fallen
    private const double SlowsTo = 0.3;    // of the speed, while a row of marks is followed to its end
    private long _glimpseTicks = long.MinValue / 2;
    private double _silentWhileUpS;

    /// <summary>Seconds since the run's body was in sight: since its last mark, or pulses after it that came as its marks would.</summary>
    public double SilentS { get; private set; }

    /// <summary>True where more marks are missing than pass unseen one after the other.</summary>
    public bool IsLost => SilentS > Math.Max(1, 4 / Math.Max(run.SpeedTurnsPerS, 0.1));

    /// <summary>Looks, while marks are away, whether the last pulses came as marks of the run's body would.</summary>
    /// <param name="ticks">Ticks of the last pulse.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public void Hear(long ticks, int marksPerTurn)
    {
        (double least, double most) = run.Foretold(ticks);
        double glimpsed = heard.Glimpse(least * marksPerTurn, most * marksPerTurn) / marksPerTurn;
        if (!(glimpsed > 0))
            return;
        run.NoteGlimpse(glimpsed);
        if (glimpsed > rules.LeastLaunchTurnsPerS) // rare flashes of a lamp follow each other like slower marks
            _glimpseTicks = ticks;
    }

    /// <summary>Tells how late it is.</summary>
    public void PassTime(long nowTicks) => SilentS = (nowTicks - Math.Max(run.LastMarkTicks, _glimpseTicks)) / rules.TickHz;

    /// <summary>Why a run whose marks are away has ended by now; none where it has not.</summary>
    /// <param name="nowTicks">The source's ticks now.</param>
    /// <param name="linkUp">Whether the link to the source is there.</param>
    public RunEnd End(long nowTicks, bool linkUp)
    {
        _silentWhileUpS = linkUp ? SilentS : Math.Min(_silentWhileUpS, SilentS);

        // A port that goes away after the body has long fallen takes nothing from its end.
        if (!linkUp && run.SeemsStopped && _silentWhileUpS > rules.StopWaitS)
            return RunEnd.Stopped;
        bool stopped = run.SeemsStopped && linkUp;
        bool mayBeBack = (nowTicks - heard.LastTicks) / rules.TickHz < ComesS && !heard.KeepsTime();
        if (mayBeBack && SilentS < rules.LostWaitS)
            return RunEnd.None;
        if (SilentS <= (stopped ? StopWaitS() : rules.LostWaitS))
            return RunEnd.None;
        return stopped ? RunEnd.Stopped : linkUp ? RunEnd.SignalLost : RunEnd.SourceLost;
    }

    /// <summary>Ordinal of the run's last pulse, after the last of its marks.</summary>
    public long LastPulse(int marksPerTurn)
    {
        FollowRow(marksPerTurn);
        return heard.LastNear;
    }

    /// <summary>Ordinal of the run's last pulse, where a launch may have begun since.</summary>
    /// <param name="watch">What may be the launch.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public long LastBefore(LockWatch watch, int marksPerTurn)
    {
        long own = FollowRow(marksPerTurn);
        return Math.Min(heard.LastNear, heard.FirstOfLaunch(watch.FirstPulse, own + 1) - 1);
    }

    private long FollowRow(int marksPerTurn)
    {
        (double least, double most) = run.Foretold(run.LastMarkTicks);
        least = least > 0 ? least : SlowsTo * run.SpeedTurnsPerS; // it came back shortly before: how it slows is not known yet
        return heard.FollowRow(Comeback.RateSlack * least * marksPerTurn, most * marksPerTurn / Comeback.RateSlack);
    }

    private double StopWaitS() => heard.Strays >= StraysToWitness
        ? rules.StopWaitS
        : Math.Clamp(run.FallsInS(), rules.StopWaitS, Math.Max(rules.StopWaitS, rules.UnseenWaitS));
}
