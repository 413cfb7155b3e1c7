using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>Judges pulses as they come: which is which mark of which turn, which is none. It locks on to a few pulses that follow each
/// other as marks of a body would, then predicts each next mark and accepts what falls into a gate about the prediction.</summary>
/// <remarks>Pulses are handed out in the order in which they came, those of a lock that is still being sought a little late. The
/// state before a lock is bounded: at most <see cref="PulseBacklog.Capacity"/> pulses wait for their judgement.</remarks>
public sealed partial class MarkTracker
{
    private const double WidestGate = 0.25; // of the spacing of marks: wider, a glint in a launch passes for a mark; narrower, a release does not
    private const int MissedToDoubt = 4;    // so many marks unseen in a row, and the next must prove themselves as a lock does
    private const int SurelyLamp = 24;      // with a track in hand, so many
    private const double LeastGood = 0.7;   // with less the track itself is in doubt, and its marks are looked at beside the extras
    private readonly TrackerSettings _settings;
    private readonly PulseBacklog _backlog;
    private readonly MarkSpacing _spacing;
    private readonly LampLight _lamp;
    private readonly double _bounceTicks;
    private TurnFilter _filter;
    private TurnFilter _before;     // as foretold for the last mark, before it was seen
    private double _lastResidual;
    private TrackNoise _noise;
    private long _filterTicks;
    private long _lastMark;
    private bool _hasTrack;
    private double _goodShare = 1;

    /// <summary>Makes a tracker that has seen nothing.</summary>
    public MarkTracker(TrackerSettings settings)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(settings.MarksPerTurn, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(settings.MarksPerTurn, 8);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(settings.TickHz);
        _settings = settings;
        _spacing = new MarkSpacing(settings.MarksPerTurn);
        _backlog = new PulseBacklog(settings);
        _lamp = new LampLight(settings.TickHz);
        _bounceTicks = 0.4 * settings.TickHz / (settings.FastestTurnsPerS * settings.MarksPerTurn);
    }

    /// <summary>True while marks come as predicted.</summary>
    public bool IsLocked { get; private set; }

    /// <summary>Counts the locks that could not be joined to what went before: a new number is another spin, or another body.</summary>
    public int LockNumber { get; private set; }

    /// <summary>Ticks of the first mark of the present lock.</summary>
    public long LockTicks { get; private set; }

    /// <summary>Speed between the first two marks of the present lock, turns a second.</summary>
    public double LockStartTurnsPerS { get; private set; }

    /// <summary>Root mean square of the residuals of late, in spacings of marks: about 0.2 for pulses at random, far less for marks.</summary>
    public double Scatter => Math.Sqrt(_noise.ScatterVariance);

    /// <summary>Ticks of the last mark.</summary>
    public long LastMarkTicks => _filterTicks;

    /// <summary>Angle of the last mark, turns since the first of the present lock.</summary>
    public double Turns => _filter.Angle;

    /// <summary>Speed at the last mark, turns a second of the source's nominal clock.</summary>
    public double SpeedTurnsPerS => _filter.Speed;

    /// <summary>Its standard uncertainty.</summary>
    public double USpeedTurnsPerS => Math.Sqrt(Math.Max(0, _filter.SpeedVariance));

    /// <summary>Acceleration at the last mark, turns a second squared.</summary>
    public double AccelerationTurnsPerS2 => _filter.Acceleration;

    /// <summary>Its standard uncertainty.</summary>
    public double UAccelerationTurnsPerS2 => Math.Sqrt(Math.Max(0, _filter.AccelerationVariance));

    /// <summary>Marks that passed with no pulse in all locks so far; those of a bridged gap are foretold, not counted.</summary>
    public long Missed { get; private set; }

    /// <summary>Turns that were bridged by prediction alone when the signal last came back; 0 where it never went.</summary>
    public double BridgedTurns { get; private set; }

    /// <summary>Standard uncertainty of <see cref="BridgedTurns"/>.</summary>
    public double UBridgedTurns { get; private set; }

    /// <summary>Share of the pulses and marks of late that were as predicted, 0 to 1.</summary>
    public double Quality => _goodShare;

    /// <summary>Where each mark sits as learnt, turns from mark 0.</summary>
    public IReadOnlyList<double> MarkOffsets => _spacing.Offsets;

    /// <summary>Flashes a second of a mains lamp, where the pulses of late are its light and no marks; NaN otherwise.</summary>
    public double LampHz => IsLocked ? double.NaN : _lamp.Hz;

    /// <summary>Judges a pulse; hands out it, and any that waited, once it is clear what they are.</summary>
    public void Add(in Pulse pulse, List<JudgedPulse> judged)
    {
        if (IsLocked)
        {
            double missing = (pulse.Ticks - _filterTicks) / _settings.TickHz * _filter.Speed * _settings.MarksPerTurn;
            if (missing <= MissedToDoubt + 1 && _filter.Speed > 0)
            {
                Follow(pulse, judged);
                return;
            }

            Unlock();
        }

        Seek(pulse, judged);
    }

    /// <summary>Hands out what still waits for a judgement, as extras.</summary>
    public void Finish(List<JudgedPulse> judged)
    {
        if (!IsLocked)
            _backlog.RejectAll(judged, AngleAt);
    }

    private double AngleAt(long ticks)
    {
        if (!_hasTrack)
            return 0;
        double dt = (ticks - _filterTicks) / _settings.TickHz;
        return _filter.Angle + Coasting.Turns(_filter.Speed, _filter.Acceleration, dt);
    }

    private void Follow(in Pulse pulse, List<JudgedPulse> judged)
    {
        if (_isDoubted)
            Reconsider(pulse);
        if (TryRow(pulse.Ticks, out LockFit row))
        {
            judged.Add(new JudgedPulse(pulse.Ticks, pulse.WidthTicks, PulseKind.Mark, 0, 0));
            LockAnew(row, pulse.Ticks);
            judged[^1] = judged[^1] with { Mark = _spacing.IndexOf(_lastMark), Turns = _spacing.Position(_lastMark) };
            return;
        }

        double dt = Math.Max(0, (pulse.Ticks - _filterTicks) / _settings.TickHz);
        TurnFilter ahead = _filter;
        ahead.Predict(dt, _noise.JerkDensity);
        long mark = _spacing.Nearest(ahead.Angle);
        double residual = _spacing.Position(mark) - ahead.Angle;
        double variance = _noise.Variance(ahead.Speed, _spacing.UncertaintyOf(mark));
        double spread = Math.Sqrt(ahead.AngleVariance + variance);
        double gate = Math.Min(WidestGate, (5 * spread * _settings.MarksPerTurn) + 0.03) / _settings.MarksPerTurn;

        // A hand that lets go leaves the body behind what its push foretold.
        double early = Math.Min(WidestGate / _settings.MarksPerTurn, gate + (0.6 * Math.Max(0, ahead.Acceleration) * dt * dt));
        bool bounced = pulse.Ticks - _filterTicks < _bounceTicks;
        if (mark == _lastMark && TryTakeInstead(pulse, judged))
            return;
        if (mark <= _lastMark || bounced || residual > gate || residual < -early)
        {
            judged.Add(new JudgedPulse(pulse.Ticks, pulse.WidthTicks, PulseKind.Extra, -1, ahead.Angle));
            _backlog.Remember(pulse);
            if (!bounced)
                Slip(pulse);
            return;
        }

        long missed = mark - _lastMark - 1;
        Missed += missed;
        Accept(pulse, ahead, mark, residual, variance, dt);
        Grade(true, missed);
        judged.Add(new JudgedPulse(
            pulse.Ticks, pulse.WidthTicks, PulseKind.Mark, _spacing.IndexOf(mark), _spacing.Position(mark)));
        if (StepsOver(missed + 1))
            SlowDown(missed + 1);
    }

    // A glint just before a mark is taken for it, since nobody knows yet what comes. The mark itself is nearer to the prediction: the track
    // then goes on from it, though the glint has been handed out.
    private bool TryTakeInstead(in Pulse pulse, List<JudgedPulse> judged)
    {
        TurnFilter ahead = _before;
        ahead.Predict(Math.Max(0, (pulse.Ticks - _filterTicks) / _settings.TickHz), _noise.JerkDensity);
        double residual = _spacing.Position(_lastMark) - ahead.Angle;
        if (!(Math.Abs(residual) < 0.5 * Math.Abs(_lastResidual)))
            return false;
        judged.Add(new JudgedPulse(pulse.Ticks, pulse.WidthTicks, PulseKind.Extra, -1, _spacing.Position(_lastMark)));
        _isDoubted = false;
        _before = ahead;
        _lastResidual = residual;
        _filter = ahead;
        _filter.Update(residual, _noise.Variance(ahead.Speed, _spacing.UncertaintyOf(_lastMark)));
        _filterTicks = pulse.Ticks;
        Grade(false, 0);
        return true;
    }

    private void Accept(in Pulse pulse, in TurnFilter ahead, long mark, double residual, double variance, double dt)
    {
        _filter = ahead;
        _before = ahead;
        _lastResidual = residual;
        double share = residual * residual / (ahead.AngleVariance + variance);
        if (share > 12)
        {
            Doubt(ahead, pulse.Ticks, mark);

            // Too far off for chance: a hand let go, or something touched the body.
            _filter.Loosen(4 * Math.Abs(residual) / Math.Max(dt * dt, 1e-9));
            variance = _noise.Variance(ahead.Speed, _spacing.UncertaintyOf(mark));
        }
        else
        {
            _steady = Math.Min(_steady + 1, SurelySteady);
        }

        _filter.Update(residual, variance);
        double push = Math.Max(0, _filter.Acceleration - (3 * UAccelerationTurnsPerS2));
        _noise.Learn(residual, share, ahead.Speed, _filter.Acceleration, push, ahead.AngleVariance, dt);
        _spacing.Learn(mark, residual);
        _lastMark = mark;
        _filterTicks = pulse.Ticks;
        if (_goodShare > LeastGood)
        {
            _backlog.Clear();
            return;
        }

        _backlog.Remember(pulse);
        _lamp.See(pulse);
    }

    // A pulse that was no mark. Several in a row that follow each other like marks mean that the track is wrong, not they.
    private void Slip(in Pulse pulse)
    {
        Grade(false, 0);
        if (_goodShare < LeastGood)
        {
            _lamp.See(pulse);
            if (_lamp.Row > SurelyLamp)
            {
                Unlock();
                return;
            }
        }

        if (!_backlog.TryFit(PulseBacklog.NeededToReplace, out LockFit fit) || Math.Abs(fit.Speed - _filter.Speed) < 0.2 * _filter.Speed)
            return;
        double ratio = fit.Speed / _filter.Speed;
        if (ratio < 4.5 && Math.Abs(ratio - Math.Round(ratio)) < 0.1)
            LockAnew(fit, _backlog.LastTicks);
        else
            Unlock();
    }

    // The same body at another speed than it was followed at: a part or a multiple of it, or what a hand made of it.
    private void LockAnew(in LockFit fit, long ticks)
    {
        _spacing.Reset();
        _lastMark = Math.Max(_lastMark + 1, _spacing.Nearest(AngleAt(ticks)));
        _filterTicks = ticks;
        _noise = TrackNoise.Fresh(0.02 / _settings.MarksPerTurn / fit.Speed, 1.0 / _settings.MarksPerTurn);
        _filter = TurnFilter.Begin(
            _spacing.Position(_lastMark), fit.Speed, fit.Acceleration, 0.03 / _settings.MarksPerTurn, 0.1 * fit.Speed,
            Math.Abs(fit.Acceleration) + (0.1 * fit.Speed * fit.Speed));
        _before = _filter;
        _lastResidual = 0;
        Trust();
        _backlog.Clear();
        _goodShare = 1;
    }

    // What the backlog holds while a lock is held has been handed out already.
    private void Unlock()
    {
        IsLocked = false;
        _wasSteady = _steady >= SurelySteady;
        _backlog.Clear();
        _lamp.Forget();
    }

    /// <summary>Forgets the body that was tracked: the next lock is a new one.</summary>
    public void Forget()
    {
        if (IsLocked)
            Unlock();
        _hasTrack = false;
    }

    private void Grade(bool good, long missed)
    {
        const double Memory = 1.0 / 64;
        for (long i = 0; i < Math.Min(missed, 64); i++)
            _goodShare -= _goodShare * Memory;
        _goodShare += ((good ? 1 : 0) - _goodShare) * Memory;
    }
}
