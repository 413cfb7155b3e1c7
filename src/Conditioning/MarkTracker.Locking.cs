using Acquire.Acquisition;

namespace Acquire.Conditioning;

// How a lock is sought, and how it is told whether it is the same body as before.
public sealed partial class MarkTracker
{
    private const double SoonTurns = 6;
    private const double SoonS = 0.4;
    private const double KnownPhase = 0.2;  // of the spacing: how uncertain the angle may be where it still tells marks apart
    private const int LampRow = 4;          // so many intervals of whole flashes of a mains lamp are no marks
    private const double HarmonicS = 30;
    private const double FreshJitter = 0.02; // of the spacing

    private void Seek(in Pulse pulse, List<JudgedPulse> judged)
    {
        if (_hasTrack && (pulse.Ticks - _filterTicks) / _settings.TickHz > _settings.RememberS)
            _hasTrack = false;
        if (_backlog.IsFull)
            _backlog.RejectOldest(judged, AngleAt);
        long last = Math.Max(_backlog.LastTicks, _hasTrack ? _filterTicks : long.MinValue / 2);
        bool bounced = pulse.Ticks - last < _bounceTicks;
        _backlog.Wait(pulse, bounced);
        if (bounced)
            return;
        _lamp.See(pulse);
        if (!_hasTrack && _lamp.Row >= LampRow)
            return;
        if (!_backlog.TryFit(PulseBacklog.Needed, out LockFit fit) && !_backlog.TryFitAmongExtras(PulseBacklog.NeededAmongExtras, out fit))
            return;

        long firstMark = 0;
        if (_hasTrack && !Joins(fit, anyPhase: false, out firstMark))
        {
            // The body we know may come back yet: only a longer row of pulses puts another in its place.
            if (!_backlog.TryFit(PulseBacklog.NeededToReplace, out fit) && !_backlog.TryFitAmongExtras(PulseBacklog.NeededToReplace, out fit))
                return;
            if (!Joins(fit, anyPhase: true, out firstMark))
            {
                if ((_wasSteady && IsHarmonic(fit)) || _lamp.Row >= LampRow)
                    return;
                _hasTrack = false;
            }
        }

        if (!_hasTrack)
            Restart(fit);
        Lock(fit, firstMark, judged);
    }

    // Half or twice the speed that the body must have by now: its own marks, misread.
    private bool IsHarmonic(in LockFit fit)
    {
        double dt = (fit.FirstTicks - _filterTicks) / _settings.TickHz;
        double foretold = Coasting.Speed(_filter.Speed, _filter.Acceleration, dt);
        TurnFilter ahead = _filter;
        ahead.Predict(dt, _noise.JerkDensity);
        double may = Math.Min(0.06, 0.01 + (3 * Math.Sqrt(ahead.SpeedVariance) / foretold));
        double ratio = fit.FirstSpeed / foretold;
        return dt < HarmonicS && (Math.Abs((ratio / 0.5) - 1) < may || Math.Abs((ratio / 2) - 1) < may);
    }

    private void Restart(in LockFit fit)
    {
        LockNumber++;
        double spacing = 1.0 / _settings.MarksPerTurn;
        _noise = TrackNoise.Fresh(FreshJitter * spacing / fit.FirstSpeed, spacing);
        _spacing.Reset();
    }

    // Whether a new lock is the same body, still spinning as the last lock foretold; then the turns go on across the gap.
    private bool Joins(in LockFit fit, bool anyPhase, out long firstMark)
    {
        double dt = (fit.FirstTicks - _filterTicks) / _settings.TickHz;
        double foretold = Coasting.Speed(_filter.Speed, _filter.Acceleration, dt);
        double slowed = Math.Abs(_filter.Speed - foretold);
        TurnFilter ahead = _filter;
        ahead.Predict(dt, _noise.JerkDensity);
        double uForetold = Math.Sqrt(ahead.SpeedVariance);
        double off = Math.Abs(fit.FirstSpeed - foretold);
        bool joins = off < Math.Max(Math.Max(0.05 * foretold, 0.5 * slowed), Math.Min(3 * uForetold, 0.3 * foretold))
            && fit.FirstSpeed < 1.03 * _filter.Speed;

        // Where the track has grown unsure, two speeds and a time give the angle between them better than the older slope alone.
        double spread = 5 * Math.Sqrt(ahead.AngleVariance) * _settings.MarksPerTurn;
        bool phaseKnown = spread < KnownPhase;
        double turns = phaseKnown ? ahead.Angle - _filter.Angle
            : Math.Abs(dt * _filter.Acceleration) < 0.02 * _filter.Speed ? Coasting.Turns(_filter.Speed, _filter.Acceleration, dt)
            : Coasting.TurnsBetween(_filter.Speed, fit.FirstSpeed, dt);

        // Within some turns there is no other body, only a hand that pushed or let go.
        bool soon = dt * _filter.Speed < SoonTurns || dt < SoonS;
        double mayDiffer = (5 * uForetold) + (1.5 * Math.Abs(_filter.Acceleration) * dt);
        joins |= soon && off < Math.Max(0.05 * foretold, mayDiffer)
            && fit.FirstSpeed > 0.6 * _filter.Speed && fit.FirstSpeed < 1.7 * _filter.Speed;
        firstMark = Math.Max(_lastMark + 1, _spacing.Nearest(_filter.Angle + turns));
        // While the track still tells where the marks are, pulses elsewhere are a bright place that is no mark.
        if (phaseKnown && !anyPhase)
            joins &= Math.Abs(_spacing.Position(firstMark) - _filter.Angle - turns) * _settings.MarksPerTurn < Math.Max(0.1, spread);
        else if (joins)
            firstMark = ByPattern(fit, firstMark);
        if (joins)
        {
            BridgedTurns = _spacing.Position(firstMark) - _filter.Angle;
            UBridgedTurns = Coasting.UTurns(dt, USpeedTurnsPerS, UAccelerationTurnsPerS2, slowed);
            Missed += firstMark - _lastMark - 1;
        }

        return joins;
    }

    // No two marks are spaced quite alike: their pattern tells which mark comes first, where the track no longer does.
    private long ByPattern(in LockFit fit, long nearest)
    {
        long best = nearest;
        double least = 0.5 * _backlog.Misfit(_spacing, nearest, fit.Count);
        for (int step = 1; step <= _settings.MarksPerTurn / 2; step++)
        {
            for (int sign = -1; sign <= 1; sign += 2)
            {
                long mark = nearest + (sign * step);
                double misfit = mark > _lastMark ? _backlog.Misfit(_spacing, mark, fit.Count) : double.PositiveInfinity;
                if (misfit < least)
                    (best, least) = (mark, misfit);
            }
        }

        _spacing.Doubt();
        return best;
    }

    private void Lock(in LockFit fit, long firstMark, List<JudgedPulse> judged)
    {
        bool fresh = !_hasTrack;
        int before = fresh ? fit.MarksBefore : 0;
        _backlog.RejectUpTo(fresh ? fit.EarliestIndex : fit.FirstIndex, judged, AngleAt);
        long mark = fresh ? 0 : firstMark;
        double spacing = 1.0 / _settings.MarksPerTurn;
        if (_settings.IsOneRun && !fresh && (fit.FirstTicks - _filterTicks) / _settings.TickHz * _filter.Speed > SoonTurns)
            _noise = _noise.AfterGap(FreshJitter * spacing / fit.FirstSpeed);
        TurnFilter filter = default;
        long ticks = 0;
        int taken = 0;
        while (_backlog.TryTake(out Pulse pulse, out bool bounced))
        {
            if (bounced)
            {
                judged.Add(new JudgedPulse(pulse.Ticks, pulse.WidthTicks, PulseKind.Extra, -1, filter.Angle));
                continue;
            }

            if (taken == 0)
            {
                if (fresh)
                    LockTicks = pulse.Ticks;
                filter = fresh ? Begin(fit, mark, before) : BeginAgain(fit, mark);
            }
            else
            {
                filter.Predict((pulse.Ticks - ticks) / _settings.TickHz, _noise.JerkDensity);
                filter.Update(_spacing.Position(mark) - filter.Angle, _noise.Variance(fit.Speed, _spacing.UncertaintyOf(mark)));
                if (taken == 1 && fresh)
                    LockStartTurnsPerS = spacing * _settings.TickHz / (pulse.Ticks - ticks);
            }

            judged.Add(new JudgedPulse(
                pulse.Ticks, pulse.WidthTicks, PulseKind.Mark, _spacing.IndexOf(mark), _spacing.Position(mark)));
            _lastMark = mark++;
            ticks = pulse.Ticks;
            taken++;
        }

        _filter = filter;
        _before = filter;
        _lastResidual = 0;
        _filterTicks = ticks;
        _hasTrack = true;
        IsLocked = true;
        _goodShare = 1;
        _rowCount = 0;
        _steadyTicks = ticks;
        Trust();
    }

    private TurnFilter Begin(in LockFit fit, long mark, int before) => TurnFilter.Begin(
        _spacing.Position(mark), fit.StartSpeed(before), fit.Acceleration, 0.02 / _settings.MarksPerTurn,
        0.5 * fit.FirstSpeed, (0.5 * Math.Abs(fit.Acceleration)) + (fit.FirstSpeed * fit.FirstSpeed));

    // A body that is known is known to slow as it did; a few pulses say less, and one of them may be a glint.
    private TurnFilter BeginAgain(in LockFit fit, long mark)
    {
        double dt = (fit.FirstTicks - _filterTicks) / _settings.TickHz;
        double foretold = Coasting.Speed(_filter.Speed, _filter.Acceleration, dt);
        double off = Math.Abs(fit.FirstSpeed - foretold);
        double acceleration = dt * _filter.Speed < SoonTurns ? _filter.Acceleration : Math.Min(0, _filter.Acceleration);
        double uAcceleration = UAccelerationTurnsPerS2 + (0.5 * Math.Abs(acceleration));
        bool asForetold = off < 0.05 * foretold;
        return TurnFilter.Begin(
            _spacing.Position(mark), asForetold ? foretold : fit.FirstSpeed, acceleration, 0.02 / _settings.MarksPerTurn,
            Math.Max(0.02 * foretold, off), asForetold ? uAcceleration : uAcceleration + (off / Math.Max(dt, 1e-3)));
    }
}
