namespace Acquire.Conditioning;

/// <summary>The speed at the last mark as the marks of the last seconds give it together, and how far that is off, which it learns from itself:
/// some seconds later the marks on both sides of a moment tell far better what the speed then was.</summary>
/// <remarks>What moves marks is not white: a wobble of amplitude a turns and rate f moves the speed that marks show by up to 2πfa turns a
/// second, and a mark's place that is not learnt yet by a jolt once a turn. No noise is therefore taken for granted; where a mark is looked
/// for is the tracker's affair. Not safe for several threads.</remarks>
public sealed class LiveSpeed
{
    private const int Capacity = 512;
    private const double GroupS = 0.08;        // at least; marks of so long count as one, in whole turns: where they sit does not matter then
    private const double LongestS = 12;
    private const int LeastGroups = 8;
    private const double UExponent = 0.6;      // of the loss, about 1: anything between 0 and 2
    private const double LeastUExponent = 0.1; // no law is a power alone
    private const double ExponentDrift = 0.09; // by how much its variance grows while the speed falls by 1/e
    private const double CaseShare = 0.2;      // of a window: errors so far apart have little to do with each other
    private const int LearnEvery = 4;          // groups
    private const int MostSaid = 256;
    private const int MostSkippedMarks = 8;
    private const double SwingTurnsPerS = 0.006; // a wobble of 0.002 turns at 0.5 Hz: it takes some swings to tell it from a change of speed
    private const double Touched = 0.004;      // of the speed: less than a hand changes, more than a wobble seems to
    private readonly double _tickHz;
    private readonly int _marks;
    private readonly TurnGroup[] _ring = new TurnGroup[Capacity];
    private readonly SlopeFit _fit = new(Capacity);
    private readonly LearntSpread _spread = new();
    private readonly Queue<Said> _said = new(MostSaid);
    private TurnGroup _open;
    private long _originTicks;
    private long _lastMark = long.MinValue;
    private double _lastS;
    private int _first;
    private int _count;
    private int _closed;
    private double _scatter = 1e-6;            // variance of a group's angle, turns²
    private double _speed;
    private double _acceleration;
    private double _exponent = 1;
    private double _exponentVariance = UExponent * UExponent;

    // What was shown, how long it stood for, and the bend that the law then known gave it.
    private readonly record struct Said(double TimeS, double ForS, SlopeFit.Slope Shown, double Variance, double Bend, double Exponent);

    /// <summary>Makes one that has seen nothing.</summary>
    /// <param name="tickHz">Nominal ticks a second.</param>
    /// <param name="marksPerTurn">Marks on the body, 1 to 8.</param>
    public LiveSpeed(double tickHz, int marksPerTurn)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(tickHz);
        ArgumentOutOfRangeException.ThrowIfLessThan(marksPerTurn, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(marksPerTurn, 8);
        (_tickHz, _marks) = (tickHz, marksPerTurn);
    }

    /// <summary>Forgets the marks, not what was learnt of their noise: a hand let go, or marks were away.</summary>
    public void Restart()
    {
        (_first, _count, _lastMark) = (0, 0, long.MinValue);
        _open = default;
        _said.Clear();
    }

    /// <summary>Forgets everything: another body.</summary>
    public void Reset()
    {
        Restart();
        _spread.Reset();
        (_exponent, _exponentVariance) = (1, UExponent * UExponent);
    }

    /// <summary>Takes in a pulse; only marks count.</summary>
    /// <param name="pulse">The pulse as judged.</param>
    /// <param name="tracker">Where marks sit.</param>
    public void See(in JudgedPulse pulse, MarkTracker tracker)
    {
        if (pulse.Kind != PulseKind.Mark)
            return;
        long turn = (long)Math.Round(pulse.Turns - ((double)pulse.Mark / _marks));
        long mark = (turn * _marks) + pulse.Mark;
        if (_lastMark == long.MinValue || mark <= _lastMark || mark - _lastMark > MostSkippedMarks)
        {
            Restart();
            _originTicks = pulse.Ticks;
        }

        _lastMark = mark;
        double timeS = (pulse.Ticks - _originTicks) / _tickHz;
        _lastS = timeS;
        if (_open.Count > 0 && turn >= _open.FirstTurn + _open.Turns)
            Close(tracker);
        if (_open.Count == 0)
            _open = TurnGroup.Begin(turn, Math.Max(1, (int)Math.Ceiling(GroupS * tracker.SpeedTurnsPerS)), timeS);
        _open.Take(timeS, turn, pulse.Mark);
    }

    /// <summary>Speed and acceleration at the last mark; the tracker's own while too few marks are to be had.</summary>
    /// <param name="tracker">The tracker that judged the marks.</param>
    /// <returns>Turns a second with its standard uncertainty, of which 1.96 is a 95 % interval, and turns a second squared.</returns>
    public (double TurnsPerS, double UTurnsPerS, double TurnsPerS2) At(MarkTracker tracker)
    {
        double foretold = tracker.SpeedTurnsPerS;
        double uForetold = Math.Max(tracker.USpeedTurnsPerS, 0);
        if (_count < LeastGroups)
            return Foretold(tracker);
        if (_speed == 0)
            (_speed, _acceleration) = (foretold, tracker.AccelerationTurnsPerS2);
        SlopeFit.Slope fit = Fit(_count - 1, _lastS, WindowS, tracker);
        double u = double.Hypot(Math.Sqrt(Variance(fit)) * _spread.Stretch, USwing);
        if (Math.Abs(fit.PerS - foretold) > (8 * uForetold) + (4 * u) + (Touched * foretold))
        {
            // A hand, or something else that touched it: the tracker has noticed, the marks of seconds have not.
            Restart();
            return (foretold, uForetold, tracker.AccelerationTurnsPerS2);
        }

        if (u > Touched * foretold)
            return Foretold(tracker); // it is being braked or pushed, evenly, and no law foretells that
        (_scatter, _speed, _acceleration) = (fit.Scatter, fit.PerS, fit.PerS2);
        return (fit.PerS, u, fit.PerS2);
    }

    private (double TurnsPerS, double UTurnsPerS, double TurnsPerS2) Foretold(MarkTracker tracker) => (
        tracker.SpeedTurnsPerS, double.Hypot(Math.Max(tracker.USpeedTurnsPerS, 0) * _spread.Stretch, USwing), tracker.AccelerationTurnsPerS2);

    private double USwing => SwingTurnsPerS * _spread.Unlearnt;

    // How long the marks are that a speed is fitted to: with more of them chance does less, but the speed bends more by what is not known of
    // the law. The sum of both variances is least where T⁷ = 144 s²/(r b²), r groups a second, b T² the bend.
    private double WindowS
    {
        get
        {
            double rate = (_count - 1) / (At(_count - 1).TimeS - At(0).TimeS);
            double bend = Bend(1);
            double best = Math.Pow(144 * _scatter / (rate * bend * bend), 1.0 / 7);
            return Math.Clamp(double.IsNaN(best) ? LongestS : best, LeastGroups / rate, Math.Max(LongestS, LeastGroups / rate));
        }
    }

    // A parabola misses a jerk j by j T²/10 at its end.
    private double Bend(double windowS) =>
        (Math.Sqrt(_exponentVariance) * BendOfLaw(windowS)) + (0.04 * JerkOfLaw * Math.Abs(_acceleration) / Math.Max(_speed, 0.1) * windowS * windowS * windowS) + 1e-12;

    private double BendOfLaw(double windowS) => 0.1 * JerkOfLaw * windowS * windowS;

    // A loss that goes as the speed to the power p slows a body with a jerk of p times this.
    private double JerkOfLaw => _acceleration * _acceleration / Math.Max(_speed, 0.1);

    private double Variance(in SlopeFit.Slope fit)
    {
        double bend = Bend(fit.WindowS);
        return (fit.Variance * Math.Max(fit.Scatter, 0.3 * _scatter)) + (bend * bend);
    }

    private void Close(MarkTracker tracker)
    {
        if (_count == Capacity)
            _first = (_first + 1) % Capacity;
        else
            _count++;
        _ring[(_first + _count - 1) % Capacity] = _open;
        _open = default;
        if (++_closed % LearnEvery == 0 && _count >= 3 * LeastGroups)
            Learn(tracker);
    }

    // What was shown some time ago, against what the marks on both sides say now. It must be what was shown then: shown anew, with a law
    // that has been learnt from those very errors, it would look better than it was.
    private void Learn(MarkTracker tracker)
    {
        double windowS = WindowS;
        double halfS = Math.Max(1.5 * windowS, 4);
        double nowS = At(_count - 1).TimeS;
        Said now = Show(nowS, windowS, tracker);
        while (_said.TryPeek(out Said then) && nowS - then.TimeS >= halfS)
        {
            _said.Dequeue();
            if (then.TimeS - At(0).TimeS >= 0.9 * halfS)
                Learn(then, FitAbout(then.TimeS, halfS, tracker).PerS);
        }

        if (_said.Count < MostSaid)
            _said.Enqueue(now);
    }

    private Said Show(double nowS, double windowS, MarkTracker tracker)
    {
        SlopeFit.Slope shown = Fit(_count - 1, nowS, windowS, tracker);
        double forS = nowS - At(_count - 1 - LearnEvery).TimeS;
        return new Said(nowS, forS, shown, Variance(shown), BendOfLaw(shown.WindowS), _exponent);
    }

    private void Learn(in Said then, double known)
    {
        double error = then.Shown.PerS - known;
        double caseS = CaseShare * then.Shown.WindowS;
        _spread.Learn(error, then.Variance, then.ForS, caseS);
        LearnLaw(then, error - (then.Bend * (then.Exponent - _exponent)), then.ForS / caseS);
    }

    // Errors that go one way for long are the law's: the exponent that it was taken to have was not the body's.
    private void LearnLaw(in Said then, double error, double cases)
    {
        double noise = then.Shown.Variance * then.Shown.Scatter * _spread.MeanSquare / cases;
        double gain = _exponentVariance * then.Bend / ((_exponentVariance * then.Bend * then.Bend) + noise + 1e-30);
        _exponent = Math.Clamp(_exponent - (gain * error), -0.5, 2.5);
        _exponentVariance -= gain * then.Bend * _exponentVariance;
        double fall = Math.Abs(_acceleration) / Math.Max(_speed, 0.1) * then.ForS;
        _exponentVariance = Math.Clamp(_exponentVariance + (ExponentDrift * fall), LeastUExponent * LeastUExponent, UExponent * UExponent);
    }

    private ref TurnGroup At(int index) => ref _ring[(_first + index) % Capacity];

    // The last group that is not later.
    private int Find(double timeS)
    {
        (int low, int high) = (0, _count - 1);
        while (low < high)
        {
            int middle = (low + high + 1) / 2;
            if (At(middle).TimeS <= timeS)
                low = middle;
            else
                high = middle - 1;
        }

        return low;
    }

    private SlopeFit.Slope Fit(int last, double atS, double windowS, MarkTracker tracker)
    {
        int from = Math.Min(Find(At(last).TimeS - windowS), Math.Max(0, last - LeastGroups + 1));
        Fill(from, last, atS, tracker);
        return _fit.At(atS, windowS, degree: 2);
    }

    private SlopeFit.Slope FitAbout(double atS, double halfS, MarkTracker tracker)
    {
        Fill(Find(atS - halfS), _count - 1, atS, tracker);
        return _fit.At(atS, halfS, degree: 3);
    }

    // The jerk of the law as far as it is known is taken out, so that only what differs bends the parabola.
    private void Fill(int from, int last, double atS, MarkTracker tracker)
    {
        _fit.Clear();
        double jerk = _exponent * JerkOfLaw;
        double snap = ((2 * _exponent) - 1) * jerk * _acceleration / Math.Max(_speed, 0.1);
        double origin = At(last).FirstTurn;
        for (int i = from; i <= last; i++)
        {
            ref TurnGroup group = ref At(i);
            double back = group.TimeS - atS;
            _fit.Add(group.TimeS, group.TurnsFrom(origin, tracker.MarkOffsets) - (back * back * back * ((jerk / 6) + (snap / 24 * back))), group.Count / (double)(group.Turns * _marks));
        }
    }
}
