using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>What came back after marks were away, or after the tracker locked anew.</summary>
internal enum ComebackKind : byte
{
    /// <summary>That cannot be told yet, or it is no body at all.</summary>
    Unknown,

    /// <summary>The run's body, no faster and no slower than one left to itself.</summary>
    Same,

    /// <summary>The run's body, of which the tracker thinks otherwise than before.</summary>
    Rethought,

    /// <summary>The hand again, in the same launch.</summary>
    Pushed,

    /// <summary>Another body, or the same launched again.</summary>
    Another,
}

/// <summary>Tells what came back after marks were away, or after the tracker locked anew, from a new lock and the pulses about it.</summary>
internal sealed class Comeback(RunRules rules, HeardPulses heard, MainsLight mains, PulseRate rate)
{
    /// <summary>Pushes that follow each other within this are one launch, seconds.</summary>
    public const double PushAgainS = 10;

    /// <summary>A hand that takes up a spinning body hides it no longer than this, seconds.</summary>
    public const double TouchedS = 1.5;

    /// <summary>A launch multiplies the speed of its lock at least by so much.</summary>
    public const double LaunchesBy = 1.3;

    /// <summary>Pulses are counted over so many turns' marks.</summary>
    public const int RateTurns = 4;

    /// <summary>For those missed and those that are none.</summary>
    public const double RateSlack = 0.75;

    private const double TooMany = 2.2;          // times as many pulses as marks: a bright place beside the only mark gives twice as many
    private const double LaunchesSurelyBy = 2.5; // more than a mark or two that a fresh lock overlooks can feign

    /// <summary>True while the body was in sight all the time since the last mark, or as good as: pulses came.</summary>
    public bool IsTouched(OpenRun run) => heard.LongestGapS < Math.Max(TouchedS, 3 / Math.Max(run.SpeedTurnsPerS, 0.1));

    /// <summary>True where a hand launches what was locked to.</summary>
    public bool IsLaunch(LockWatch watch, MarkTracker tracker, double speedUp) =>
        watch.IsLaunch(tracker, rules.LeastLaunchTurnsPerS, speedUp) && !mains.IsSeen;

    /// <summary>True where what was locked to spins freely.</summary>
    public bool IsSpinningAlready(LockWatch watch, MarkTracker tracker) => watch.IsSpinningAlready(tracker) && !mains.IsSeen;

    /// <summary>Tells what it is.</summary>
    public ComebackKind Tell(long ticks, LockWatch watch, MarkTracker tracker, OpenRun run)
    {
        (double least, double most) = run.Foretold(ticks);
        double speed = watch.SpeedTurnsPerS;
        int marks = tracker.MarkOffsets.Count;
        bool isAsForetold = speed >= least && speed <= most;
        bool free = watch.IsFree(tracker) && !mains.IsSeen;
        bool goesOn = run.IsCourseKnown && !mains.IsSeen
            && rate.HasBeenWithin(RateTurns * marks, RateSlack * least * marks, most * marks / RateSlack);
        bool mayRoll = run.SeemsStopped && heard.LongestGapS < TouchedS && speed < run.MayEndBelowTurnsPerS;
        bool launched = !goesOn && !mayRoll && IsLaunch(watch, tracker, speed > most ? LaunchesBy : LaunchesSurelyBy);
        bool spins = !goesOn && IsSpinningAlready(watch, tracker) && !isAsForetold;
        bool early = run.SincePeakS(run.LastMarkTicks) < PushAgainS && heard.LongestGapS < TouchedS;
        if (early && (launched || spins || (free && !goesOn && speed > most)))
            return ComebackKind.Pushed;
        if (free && isAsForetold && !(rate.Over(RateTurns * marks) > TooMany * most * marks))
            return ComebackKind.Same;
        if (free && IsTouched(run) && run.Phase != RunPhase.Lost && rate.IsAsBefore(RateTurns * marks))
            return ComebackKind.Rethought;
        return launched || spins ? ComebackKind.Another : ComebackKind.Unknown;
    }
}
