using Acquire.Conditioning;

namespace Acquire.Motion;

/// <summary>Where a spin ended, and what the sensor saw of it.</summary>
/// <param name="StopS">Calibrated seconds since the run's first pulse.</param>
/// <param name="UStopS">Its standard uncertainty, seconds: ±1.96 of it is a 95 % interval, were the fall what ended the marks.</param>
/// <param name="LastMarkS">The last mark that the body's own turning brought, seconds.</param>
/// <param name="LastTurnsPerS">The speed there, turns a second.</param>
/// <param name="IsSeen">False where marks ceased at a speed at which a body still stands: the end is then a forecast.</param>
/// <param name="IsWitnessed">Whether pulses that came soon after the last mark show that the sensor still saw. Where none came the body may
/// have spun on unseen: its end lies between <paramref name="LastMarkS"/> and <paramref name="LatestStopS"/>.</param>
/// <param name="LatestStopS">When the body must have fallen at the latest by how it slowed, or come to rest where none falls, seconds. Where
/// the end is witnessed, the end of its 95 % interval.</param>
public readonly record struct SpinEnd(
    double StopS, double UStopS, double LastMarkS, double LastTurnsPerS, bool IsSeen, bool IsWitnessed, double LatestStopS)
{
    private const double Normal975 = 1.959964;
    private const double Within = 0.96;        // of a turn: so near the end is wanted above all
    private const double WitnessS = 5;         // a body that fell gives flashes soon after if at all
    private const double SeenFalling = 0.99;
    private const double LongestDecays = 20;   // a deceleration less than this many lives of the run is not told from none
    private const double RestTurns = 4;        // a wheel that slow stops within so many turns, marks too slow to be told among them
    private const double LeastRest = 0.02;     // of the time to rest
    private const double RestByLaw = 0.2;      // of what the law's bend adds to it
    private const int RestMarks = 16;
    private const double MostLessening = 0.8;
    private const double LowestShare = 0.35;   // of the speed below which a spin may end: slower than this none stands
    private const double StandsAboveTurnsPerS = 1.75;
    private const double StandsAboveShare = 0.6;

    /// <summary>Places the end.</summary>
    /// <param name="run">The run as judged, at least four marks; some seconds of pulses after the last mark tell much.</param>
    /// <param name="secondsPerTick">Calibrated seconds a tick.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    /// <param name="stopBelowTurnsPerS">Below this a spin may end by itself, turns a second.</param>
    public static SpinEnd Place(JudgedRun run, double secondsPerTick, int marksPerTurn, double stopBelowTurnsPerS)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(run.Marks, 4);
        TailPulses pulses = TailPulses.Of(run, secondsPerTick, marksPerTurn);
        if (TailTrack.Follow(pulses) is not { Dues.Count: > 1 } track)
            return ByLastMark(pulses, marksPerTurn, stopBelowTurnsPerS);

        int likeliest = track.Likeliest();
        TailTrack.Due last = track.Dues[likeliest];
        (double lastS, double speed, double decel) = (last.LawS, last.Law.Speed, -last.Law.Acceleration);
        if (speed > stopBelowTurnsPerS)
            return Forecast(lastS, speed, decel, stopBelowTurnsPerS);
        if (FallReading.Of(pulses, track) is not { } fall)
            return ByLastMark(pulses, marksPerTurn, stopBelowTurnsPerS);
        double latestS = lastS + Math.Max(LongestS(lastS, last.Law), LongestRestS(pulses.Marks, lastS, last.Law));

        // A wheel that could turn hardly on came to rest by itself. Anything else fell before the next mark came.
        if (decel > 0 && speed * speed / (2 * decel) < RestTurns)
            return AtRest(pulses.Marks, lastS, last.Law);
        double stopS = fall.Middle(Within / speed);
        double half = fall.HalfWidth(stopS, 0.95);
        bool witnessed = fall.SeenFalling > SeenFalling || SawMore(pulses, likeliest + 1 < track.Dues.Count ? lastS + last.Law.After(track.Dues[likeliest + 1].Turns) : lastS + (1 / speed), lastS);
        return new SpinEnd(
            stopS, half / Normal975, lastS, speed, true, witnessed, witnessed ? stopS + half : Math.Max(latestS, stopS + half));
    }

    private static bool SawMore(TailPulses pulses, double nextDueS, double lastS)
    {
        int at = pulses.FirstAtOrAfter(nextDueS);
        return at < pulses.TimeS.Length && pulses.TimeS[at] < lastS + WitnessS;
    }

    // Few marks, or none that follow a law: nothing but the last of them tells.
    private static SpinEnd ByLastMark(TailPulses pulses, int marksPerTurn, double stopBelowTurnsPerS)
    {
        MarkSeries marks = pulses.Marks;
        double timeS = marks.TimeS[^1];
        int from = Math.Max(0, marks.Count - 8);
        double speed = Math.Max((marks.Turns[^1] - marks.Turns[from]) / (timeS - marks.TimeS[from]), 1e-3);
        if (speed > stopBelowTurnsPerS)
            return Forecast(timeS, speed, 0, stopBelowTurnsPerS);
        double half = 0.5 / marksPerTurn / speed;
        double u = StopInterval.U(half, 0, 0.5);
        return new SpinEnd(timeS + half, u, timeS, speed, true, false, timeS + LongestS(timeS, new LocalFit(speed, 0, 0, 0, 0, 0)));
    }

    // Deceleration against speed as a straight line through those of the last marks and of the ones before: carried on to rest. With
    // d + k(v − v₀) a body at v₀ comes to rest after ln(d/(d − kv₀))/k.
    private static SpinEnd AtRest(MarkSeries marks, double lastS, in LocalFit law)
    {
        double decel = -law.Acceleration;
        double share = 0;
        int to = marks.FirstAtOrAfter(lastS + 1e-9);
        if (to >= 3 * RestMarks)
        {
            LocalFit near = Window(marks, to - RestMarks, to);
            LocalFit far = Window(marks, to - (3 * RestMarks), to - RestMarks);
            double slope = (near.Acceleration - far.Acceleration) / (far.Speed - near.Speed);
            slope = Math.Clamp(slope, 0, MostLessening * -near.Acceleration / near.Speed);
            decel = -near.Acceleration - (slope * (near.Speed - law.Speed));
            share = slope * law.Speed / decel;
        }

        double even = law.Speed / decel;
        double on = share < 1e-6 ? even : even * -double.LogP1(-share) / share;
        double u = double.Hypot((LeastRest * on) + (RestByLaw * Math.Abs(on - (law.Speed / -law.Acceleration))), even * double.Hypot(law.USpeed / law.Speed, law.UAcceleration / decel));
        return new SpinEnd(lastS + on, u, lastS, law.Speed, true, true, lastS + on + (Normal975 * u));
    }

    // Until a body that does not fall, as a wheel does not, is at rest: deceleration against speed as a straight line through two stretches
    // of the last marks, as steep as they allow.
    private static double LongestRestS(MarkSeries marks, double lastS, in LocalFit law)
    {
        int to = marks.FirstAtOrAfter(lastS + 1e-9);
        double decel = Math.Max(-law.Acceleration - (2 * law.UAcceleration), law.Speed / (LongestDecays * lastS));
        double share = MostLessening;
        if (to >= 3 * RestMarks)
        {
            LocalFit near = Window(marks, to - (to / 3), to);
            LocalFit far = Window(marks, 0, to - (to / 3));
            double u = double.Hypot(near.UAcceleration, far.UAcceleration);
            double slope = (near.Acceleration - far.Acceleration + (2 * u)) / Math.Max(far.Speed - near.Speed, 1e-6);
            double most = -near.Acceleration + (2 * near.UAcceleration);
            share = Math.Clamp(slope * near.Speed / Math.Max(most, 1e-9), 1e-3, MostLessening);
            decel = Math.Max(decel, (-near.Acceleration - (2 * near.UAcceleration)) * (1 - (share * (1 - (law.Speed / near.Speed)))));
        }

        return law.Speed / decel * -double.LogP1(-share) / share;
    }

    private static LocalFit Window(MarkSeries marks, int from, int to) =>
        LocalFit.At(marks, from, to, 0.5 * (marks.TimeS[from] + marks.TimeS[to - 1]), 2);

    // Until no body stands any more, were the loss to lessen with the square of the speed, as it does at most.
    private static double LongestS(double timeS, in LocalFit law)
    {
        double decel = Math.Max(-law.Acceleration - (2 * law.UAcceleration), law.Speed / (LongestDecays * timeS));
        double lowest = Math.Min(StandsAboveTurnsPerS, StandsAboveShare * law.Speed);
        return law.Speed / decel * ((law.Speed / lowest) - 1);
    }

    // Somewhere between the moment at which the law lets it fall and that by which it must have fallen; the law's power is not known,
    // so that the deceleration is taken to lessen with the speed or not.
    private static SpinEnd Forecast(double timeS, double speed, double decel, double stopBelow)
    {
        decel = Math.Max(decel, speed / (LongestDecays * timeS));
        double soonest = (speed - stopBelow) / decel;
        double latest = speed / decel * ((speed / (LowestShare * stopBelow)) - 1);
        double middle = 0.5 * (soonest + latest);
        return new SpinEnd(timeS + middle, (latest - soonest) / Math.Sqrt(12), timeS, speed, false, false, timeS + latest);
    }
}
