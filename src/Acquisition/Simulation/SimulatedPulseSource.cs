using System.Text;

namespace Acquire.Acquisition.Simulation;

/// <summary>Plays a scenario in process as a source of blocks: paced by a clock, or as fast as the blocks are taken with the host's times
/// made up from the scenario and a model of delays, in which case the same scenario gives the same blocks.</summary>
public sealed class SimulatedPulseSource : IPulseSource
{
    private readonly SimulatedSpin _spin;
    private readonly SimulatedBoard _board;
    private readonly HostDelays _delays;
    private readonly SeededNoise _noise;
    private readonly TimeProvider? _time;
    private readonly double _speed;
    private readonly CancellationTokenSource _stop = new();
    private readonly object _gate = new();
    private readonly int _capacityBytes;
    private TaskCompletionSource _asked = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private Task _playing = Task.CompletedTask;
    private long _startNs;
    private bool _started;

    private SimulatedPulseSource(SimulatedSpin spin, HostDelays? delays, TimeProvider? time, double speed, int capacityBytes)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(speed);
        _spin = spin;
        _board = new SimulatedBoard(spin);
        _delays = delays ?? new HostDelays();
        _noise = new SeededNoise(spin.Scenario.Seed, 8);
        _time = time;
        _speed = speed;
        _capacityBytes = capacityBytes;
        Blocks = new BlockRing(capacityBytes, Math.Min(64 << 10, capacityBytes / 4));
    }

    /// <inheritdoc/>
    public string Kind => "simulation";

    /// <inheritdoc/>
    public string Detail => $"invented spin, seed {_spin.Scenario.Seed}";

    /// <inheritdoc/>
    public BlockRing Blocks { get; }

    /// <summary>Host time of the scenario's time 0 where host times are made up, ns.</summary>
    public const long SyntheticStartNs = 1_000_000_000;

    /// <summary>Plays against a clock; a block bears the clock's time and can be asked.</summary>
    /// <param name="spin">What to play.</param>
    /// <param name="time">The clock.</param>
    /// <param name="speed">Seconds of the scenario in one of the clock's.</param>
    public static SimulatedPulseSource Paced(SimulatedSpin spin, TimeProvider time, double speed = 1) =>
        new(spin, null, time, speed, 8 << 20);

    /// <summary>Plays as fast as the blocks are taken, nothing lost; host time is the scenario's time and a delay, and starts at
    /// <see cref="SyntheticStartNs"/>. It cannot be asked; it asks itself as <see cref="HostDelays.AskEveryS"/> says.</summary>
    public static SimulatedPulseSource Synthetic(SimulatedSpin spin, HostDelays? delays = null, int capacityBytes = 8 << 20) =>
        new(spin, delays, null, 1, capacityBytes);

    /// <inheritdoc/>
    public void Start()
    {
        if (_started)
            throw new InvalidOperationException("A source is started once.");
        _started = true;
        _playing = _time is null ? Task.Run(PlaySynthetic) : Task.Run(() => PlayPacedAsync(_time));
    }

    /// <inheritdoc/>
    public void Ask(ReadOnlySpan<byte> question)
    {
        if (_time is null || !_started || _stop.IsCancellationRequested)
            return;
        lock (_gate)
        {
            long now = _time.MonotonicNs();
            Blocks.TryWrite(SourceBlockKind.Asked, now, question);
            _board.Receive(ScenarioS(now), question);
            _asked.TrySetResult();
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _stop.Cancel();
        try
        {
            _playing.GetAwaiter().GetResult();
        }
        catch (OperationCanceledException)
        {
            // asked to end before the scenario did
        }

        _board.Dispose();
        _stop.Dispose();
    }

    private double ScenarioS(long nowNs) => (nowNs - _startNs) * 1e-9 * _speed;

    private async Task PlayPacedAsync(TimeProvider time)
    {
        try
        {
            lock (_gate)
            {
                _startNs = time.MonotonicNs();
                WriteLink(_startNs);
            }

            while (true)
            {
                Task wake;
                TimeSpan wait;
                lock (_gate)
                {
                    if (_asked.Task.IsCompleted)
                        _asked = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
                    wake = _asked.Task;
                    SendDue(time.MonotonicNs());
                    if (double.IsPositiveInfinity(_board.NextS))
                        return;
                    double leftS = (_board.NextS - ScenarioS(time.MonotonicNs())) / _speed;
                    wait = TimeSpan.FromSeconds(Math.Clamp(leftS, 0.001, 60));
                }

                await Task.WhenAny(Task.Delay(wait, time, _stop.Token), wake).ConfigureAwait(false);
                _stop.Token.ThrowIfCancellationRequested();
            }
        }
        finally
        {
            Blocks.Complete();
        }
    }

    private void SendDue(long nowNs)
    {
        double untilS = ScenarioS(nowNs);
        while (_board.TryNext(untilS, out _, out ReadOnlyMemory<byte> bytes))
            Blocks.TryWrite(SourceBlockKind.Bytes, nowNs, bytes.Span);
    }

    private void PlaySynthetic()
    {
        var writer = new PatientWriter(Blocks, _capacityBytes, _stop.Token);
        try
        {
            writer.Write(SourceBlockKind.LinkBack, SyntheticStartNs, Encoding.UTF8.GetBytes(Detail));
            new SyntheticHost(_board, _delays, _noise, writer).Play(_spin.Motion.DurationS);
        }
        finally
        {
            Blocks.Complete();
        }
    }

    private void WriteLink(long nowNs) => Blocks.TryWrite(SourceBlockKind.LinkBack, nowNs, Encoding.UTF8.GetBytes(Detail));
}
