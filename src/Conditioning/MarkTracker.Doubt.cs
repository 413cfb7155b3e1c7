using Acquire.Acquisition;

namespace Acquire.Conditioning;

// A mark that comes far from where a steady track put it: either the body was touched, or that one moment is wrong. The next mark tells.
public sealed partial class MarkTracker
{
    private const int SteadyMarks = 3;      // so many as foretold, and one that is not is doubted
    private const int SurelySteady = 8;     // so many, and the speed of a lock that broke is to be believed
    private const double LongestFlickS = 1; // what happens later is told by whoever sees the whole session
    private const double Apart = 0.12;      // of the speed
    private const double Fits = 9;          // square of the residual over its variance
    private const int SurelyOver = 8;
    private const double LeapsBy = 1.4;
    private TurnFilter _undoubted;          // as foretold for the doubted mark, before that was taken in
    private TrackNoise _undoubtedNoise;
    private long _doubtedTicks;
    private long _doubtedMark;
    private bool _isDoubted;
    private readonly long[] _row = new long[6];
    private int _rowCount;
    private double _steadySpeed;            // turns a second; 0 before there was any
    private long _steadyTicks = long.MinValue / 2;
    private bool _wasSteady;
    private long _step;
    private int _evenSteps;                 // marks in a row each as many after the one before, others unseen between them
    private double _singly;                 // speed when last two marks followed each other
    private int _steady;                    // marks in a row that came as foretold

    private void Doubt(in TurnFilter ahead, long ticks, long mark)
    {
        if (_steady >= SteadyMarks)
            (_undoubted, _undoubtedNoise, _doubtedTicks, _doubtedMark, _isDoubted) = (ahead, _noise, ticks, mark, true);
        _steady = 0;
    }

    // Where a pulse comes as the track foretold before the doubted mark, that mark's moment was wrong, and the track goes on from before it.
    private void Reconsider(in Pulse pulse)
    {
        if (_lastMark != _doubtedMark)
        {
            _isDoubted = false;
            return;
        }

        TurnFilter old = _undoubted;
        old.Predict(Math.Max(0, (pulse.Ticks - _doubtedTicks) / _settings.TickHz), _undoubtedNoise.JerkDensity);
        long mark = _spacing.Nearest(old.Angle);
        double residual = _spacing.Position(mark) - old.Angle;
        double variance = old.AngleVariance + _undoubtedNoise.Variance(old.Speed, _spacing.UncertaintyOf(mark));
        if (mark <= _lastMark || residual * residual > Fits * variance)
            return;
        (_filter, _noise) = (_undoubted, _undoubtedNoise);
        _isDoubted = false;
    }

    // A flick can throw the track off. Pulses that follow each other evenly are then the marks, whatever it foretells; unless they come as a
    // bright place among the marks would make them, or as a lamp's light that falls on the sensor once the body lies.
    private bool TryRow(long ticks, out LockFit fit)
    {
        fit = default;
        if (_rowCount > 0 && ticks - _row[^1] < _bounceTicks)
            return false;
        Array.Copy(_row, 1, _row, 0, _row.Length - 1);
        _row[^1] = ticks;
        _rowCount = Math.Min(_rowCount + 1, _row.Length);
        if (_steady >= SurelySteady)
            _steadySpeed = _filter.Speed;
        if (_steady >= SteadyMarks)
            _steadyTicks = _filterTicks;
        bool isFlick = _steady < SurelySteady && (_row[0] - _steadyTicks) / _settings.TickHz < LongestFlickS;
        if (!isFlick || _rowCount < _row.Length || !IsEven())
            return false;
        double perTick = (_row.Length - 1) / ((double)(_row[^1] - _row[0]) * _settings.MarksPerTurn);
        double speed = perTick * _settings.TickHz;
        double bright = speed / _steadySpeed;
        if (Math.Abs((speed / _filter.Speed) - 1) < Apart || (bright > 1.5 && Math.Abs(bright - Math.Round(bright)) < 0.06))
            return false;
        if (LampLight.IsBeat(speed * _settings.MarksPerTurn))
            return false;
        double half = (_row[^1] - _row[0]) / (2 * _settings.TickHz);
        double acceleration = (Speed(3, 5) - Speed(0, 2)) / (1.2 * half);
        fit = new LockFit(0, 0, 0, _row[0], speed - (half * acceleration), speed + (half * acceleration), acceleration, _row.Length);
        return true;

        double Speed(int from, int to) => (to - from) * _settings.TickHz / ((_row[to] - _row[from]) * (double)_settings.MarksPerTurn);
    }

    private bool IsEven()
    {
        double even = _settings.MarksPerTurn == 1 ? 0.06 : 0.16;
        for (int i = 2; i < _row.Length; i++)
        {
            if (Math.Abs(((_row[i] - _row[i - 1]) / (double)(_row[i - 1] - _row[i - 2])) - 1) > even)
                return false;
        }

        return true;
    }

    // Marks do not go unseen by turns, one seen and one not: the speed is a part of what it was taken for. Where the set-up's marks would
    // come so if some were gone for good, it is that, unless the speed leapt.
    private bool StepsOver(long step)
    {
        if (step == 1)
            _singly = _filter.Speed;
        _evenSteps = step > 1 && step == _step ? _evenSteps + 1 : 0;
        _step = step;
        return _evenSteps >= SurelyOver
            && (_settings.MarksPerTurn % step != 0 || (_singly > 0 && _filter.Speed > LeapsBy * _singly));
    }

    private void SlowDown(long step)
    {
        Missed -= (_evenSteps + 1) * (step - 1);
        double share = 1.0 / step;
        _noise = TrackNoise.Fresh(0.02 / _settings.MarksPerTurn / (share * _filter.Speed), 1.0 / _settings.MarksPerTurn);
        _spacing.Reset();
        _filter = TurnFilter.Begin(
            _spacing.Position(_lastMark), share * _filter.Speed, share * _filter.Acceleration, 0.03 / _settings.MarksPerTurn,
            0.05 * share * _filter.Speed, Math.Abs(share * _filter.Acceleration) + (0.1 * share * share * _filter.Speed * _filter.Speed));
        _before = _filter;
        _lastResidual = 0;
        _goodShare = 1;
        _backlog.Clear();
        Trust();
    }

    private void Trust() => (_steady, _isDoubted, _evenSteps, _singly) = (0, false, 0, 0);
}
