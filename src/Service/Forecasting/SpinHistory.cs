using System.Text.Json.Serialization;
using Acquire.Conditioning;
using Acquire.Recording;

namespace Acquire.Service.Forecasting;

/// <summary>The spin under way in so many places and no more: marks averaged in blocks, of which two become one whenever there is no room. A mark costs some
/// additions; whatever goes wrong here ends the history and nothing else. Not safe for use from several threads; a copy is.</summary>
/// <param name="tickHz">Nominal ticks a second.</param>
/// <param name="most">Places.</param>
internal sealed class SpinHistory(double tickHz, int most = SpinHistory.Most)
{
    private const int Most = 4000;
    private const double JumpTurns = 1000;
    private const double PauseS = 1.5;         // a gap of over a second and many turns parts stretches whose turns do not go together
    private readonly Block[] _blocks = new Block[most];
    private int _count;
    private int _size = 1;
    private Block _open;
    private long _originTicks;
    private int _lock;
    private double _jump;
    private double _waitUntilS;
    private bool _runs;

    private readonly record struct Block(int Marks, double TimeS, double Turns, double Spread, bool IsAfterGap)
    {
        // Two averages and their spread in time (Chan, Golub and LeVeque 1979, from memory).
        public Block With(in Block other)
        {
            int marks = Marks + other.Marks;
            double share = (double)other.Marks / marks;
            double apart = other.TimeS - TimeS;
            return new Block(
                marks, TimeS + (share * apart), Turns + (share * (other.Turns - Turns)), ((Spread * Marks) + (other.Spread * other.Marks)) / marks + (share * (1 - share) * apart * apart), IsAfterGap);
        }
    }

    /// <summary>Begins anew: the hand let go.</summary>
    /// <param name="releaseTicks">When.</param>
    public void Begin(long releaseTicks) => (_runs, _count, _size, _open, _originTicks, _lock, _jump, _waitUntilS) = (true, 0, 1, default, releaseTicks, -1, 0, 0);

    /// <summary>Ends: there is no spin.</summary>
    public void End() => _runs = false;

    /// <summary>Takes a judged pulse.</summary>
    /// <param name="pulse">The pulse; only the first mark of a turn counts, so that where the others sit does not matter.</param>
    /// <param name="lockNumber">How often the marks were found anew: from then on turns are counted from elsewhere.</param>
    public void See(in JudgedPulse pulse, int lockNumber)
    {
        if (!_runs || pulse.Kind != PulseKind.Mark || pulse.Mark != 0 || !double.IsFinite(pulse.Turns) || pulse.Ticks < _originTicks)
            return;
        double timeS = (pulse.Ticks - _originTicks) / tickHz;
        bool isNew = _lock >= 0 && lockNumber != _lock;
        if (isNew)
            (_jump, _waitUntilS) = (_jump + JumpTurns, timeS + PauseS);
        _lock = lockNumber;
        if (timeS < _waitUntilS)
            return;
        bool gap = _open.Marks > 0 ? timeS - _open.TimeS > PauseS + _size : _count > 0 && timeS - _blocks[_count - 1].TimeS > PauseS + _size;
        if (gap)
            _open = default; // a part block before a gap is let go
        var one = new Block(1, timeS, pulse.Turns + _jump, 0, gap && _open.Marks == 0);
        _open = _open.Marks == 0 ? one : _open.With(one);
        if (_open.Marks >= _size)
            Add();
    }

    /// <summary>A copy for another thread; null where there is no spin or too little of one.</summary>
    /// <param name="rate">By how much the source's clock runs fast, as a share.</param>
    /// <param name="uRate">Its standard uncertainty.</param>
    public SpinSoFar? Copy(double rate, double uRate)
    {
        const int Reach = 50;
        const int Fewest = 100;
        if (!_runs || _count < Fewest)
            return null;
        double[] time = new double[_count];
        double[] turns = new double[_count];
        for (int i = 0; i < _count; i++)
        {
            // The mean angle lies below the angle at the mean time by half the deceleration times the spread of the times.
            (int a, int b) = (Math.Max(0, i - Reach), Math.Min(_count - 1, i + Reach));
            int middle = (a + b) / 2;
            double early = (_blocks[middle].Turns - _blocks[a].Turns) / (_blocks[middle].TimeS - _blocks[a].TimeS);
            double late = (_blocks[b].Turns - _blocks[middle].Turns) / (_blocks[b].TimeS - _blocks[middle].TimeS);
            double deceleration = (early - late) / (0.5 * (_blocks[b].TimeS - _blocks[a].TimeS));
            time[i] = _blocks[i].TimeS / (1 + rate);
            turns[i] = _blocks[i].Turns + (_blocks[i].Spread > 0 && Math.Abs(deceleration * _blocks[i].Spread) < 1 ? 0.5 * deceleration * _blocks[i].Spread : 0);
        }

        return new SpinSoFar(time, turns, uRate);
    }

    private void Add()
    {
        if (_count == _blocks.Length)
            Halve();
        _blocks[_count++] = _open;
        _open = default;
    }

    private void Halve()
    {
        int to = 0;
        for (int i = 0; i < _count; to++)
        {
            bool joins = i + 1 < _count && !_blocks[i + 1].IsAfterGap && _blocks[i].Marks <= _size;
            _blocks[to] = joins ? _blocks[i].With(_blocks[i + 1]) : _blocks[i];
            i += joins ? 2 : 1;
        }

        (_count, _size) = (to, 2 * _size);
    }
}

/// <summary>The spin under way, for a forecast; immutable by custom.</summary>
/// <param name="TimeS">Moments since the release, calibrated seconds.</param>
/// <param name="Turns">The angle at each, turns.</param>
/// <param name="URate">Standard uncertainty of the clock's rate, as a share.</param>
internal sealed record SpinSoFar(double[] TimeS, double[] Turns, double URate)
{
    /// <summary>The set-up of the run.</summary>
    public RunSetup Setup { get; init; } = new();

    /// <summary>The last of the moments.</summary>
    [JsonIgnore]
    public double AtS => TimeS[^1];
}
