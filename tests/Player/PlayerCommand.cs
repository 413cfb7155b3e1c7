using System.CommandLine;
using Acquire.Acquisition.Simulation;
using Acquire.Terminals;

namespace Acquire.Player;

/// <summary>The options of the player and what it does with them.</summary>
internal sealed class PlayerCommand
{
    private readonly Option<string?> _link = new("--link") { Description = "Path at which to put a symbolic link to the port." };
    private readonly Option<double> _speed = Number("--speed", 1, "Seconds of the spin in one second, more than 0.");
    private readonly Option<double> _minutes = Number("--minutes", 75, "Time from release to the fall, minutes.");
    private readonly Option<int> _seed = new("--seed") { DefaultValueFactory = _ => 7, Description = "Seed of every random number." };
    private readonly Option<double> _peak = Number("--peak", 1850, "Speed at release, rpm.");
    private readonly Option<double> _topple = Number("--topple", 260, "Speed at which the body falls, rpm.");
    private readonly Option<int> _marks = new("--marks") { DefaultValueFactory = _ => 1, Description = "Marks a turn, 1 to 8." };
    private readonly Option<double> _spacing = Number("--spacing-error", 0, "Largest error of a mark's place, share of the spacing.");
    private readonly Option<double> _idle = Number("--idle", 5, "Rest before the launch, s of the spin.");
    private readonly Option<double> _rest = Number("--rest", 120, "Rest after the fall, s of the spin.");
    private readonly Option<double> _misses = Number("--misses", 0.002, "Probability that a mark passes unseen.");
    private readonly Option<double> _glints = Number("--glints", 0.002, "Mean random glints a turn.");
    private readonly Option<double> _jitter = Number("--jitter", 2e-6, "Standard deviation of an edge, s.");
    private readonly Option<double> _wobble = Number("--wobble", 0, "Amplitude of the wobble at release, turns.");
    private readonly Option<double> _lamp = Number("--lamp", 0, "The sensor looks past the body into a lamp of so many flashes a second; 0 for none.");
    private readonly Option<double> _ppm = Number("--ppm", 1200, "How fast the board's clock runs, parts per million.");
    private readonly Option<double> _baud = Number("--baud", 115200, "Bits a second of the board's line; what finds no room is dropped by the board.");
    private readonly Option<double> _byteErrors = Number("--byte-errors", 0, "Probability that a byte arrives wrong.");
    private readonly Option<double[]> _restarts = new("--restart") { Description = "A moment, s of the spin, at which the board starts anew; may be repeated." };
    private readonly Option<int> _noise = new("--noise") { Description = "Bytes of garbage before the first line." };
    private readonly Option<bool> _stay = new("--stay") { Description = "Go on as a board at rest until ended." };

    internal void AddTo(Command command)
    {
        foreach (Option option in (Option[])[
            _link, _speed, _minutes, _seed, _peak, _topple, _marks, _spacing, _idle, _rest, _misses, _glints, _jitter, _wobble, _lamp, _ppm,
            _baud, _byteErrors, _restarts, _noise, _stay])
            command.Options.Add(option);
    }

    internal async Task<int> RunAsync(ParseResult result, CancellationToken cancel)
    {
        SimulatedSpin spin;
        try
        {
            ArgumentOutOfRangeException.ThrowIfNegativeOrZero(result.GetValue(_speed), "--speed");
            spin = new SimulatedSpin(Scenario(result));
        }
        catch (ArgumentException wrong)
        {
            await Console.Error.WriteLineAsync(wrong.Message);
            return 2;
        }

        using var terminal = new PseudoTerminal(holdPort: false, result.GetValue(_link));
        await Console.Error.WriteLineAsync($"port {result.GetValue(_link) ?? terminal.PortPath}");
        using var player = new BoardPlayer(terminal, spin, result.GetValue(_speed), result.GetValue(_noise), result.GetValue(_stay));

        // A thread of its own: writing blocks while the port's reader does not read, and must not keep the program from ending.
        var done = new TaskCompletionSource<bool>(TaskCreationOptions.RunContinuationsAsynchronously);
        var thread = new Thread(() => Play(player, done, cancel)) { IsBackground = true, Name = "board" };
        thread.Start();
        bool whole;
        try
        {
            whole = await done.Task.WaitAsync(cancel);
        }
        catch (OperationCanceledException)
        {
            thread.Join(200);
            whole = false;
        }

        await Console.Out.WriteLineAsync(TruthReport.Json(spin, whole));
        return 0;
    }

    private static void Play(BoardPlayer player, TaskCompletionSource<bool> done, CancellationToken cancel)
    {
        try
        {
            done.SetResult(player.Play(cancel));
        }
        catch (Exception fault) when (fault is System.ComponentModel.Win32Exception or ObjectDisposedException)
        {
            done.SetException(fault);
        }
    }

    private SpinScenario Scenario(ParseResult result) => new()
    {
        Seed = result.GetValue(_seed),
        RestAfterS = result.GetValue(_rest),
        Spins =
        [
            new SpinPlan
            {
                RestBeforeS = result.GetValue(_idle),
                Pushes = [new(result.GetValue(_peak), 0.7)],
                ToppleRpm = result.GetValue(_topple),
                FallS = 0.6,
                RollingS = 3,
                RollingFlashes = 6,
            }.Lasting(result.GetValue(_minutes) * 60),
        ],
        Sensor = new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(result.GetValue(_marks), result.GetValue(_spacing), result.GetValue(_seed)),
            MissProbability = result.GetValue(_misses),
            RandomGlintsPerTurn = result.GetValue(_glints),
            JitterS = result.GetValue(_jitter),
            WobbleTurns = result.GetValue(_wobble),
            Lamp = result.GetValue(_lamp) > 0 ? LampLight.Alone : LampLight.None,
            LampHz = result.GetValue(_lamp) > 0 ? result.GetValue(_lamp) : 100,
        },
        Board = new BoardSettings
        {
            RatePpm = result.GetValue(_ppm),
            Baud = result.GetValue(_baud),
            ByteErrorProbability = result.GetValue(_byteErrors),
            RestartsS = result.GetValue(_restarts) ?? [],
        },
    };

    private static Option<double> Number(string name, double value, string description) =>
        new(name) { DefaultValueFactory = _ => value, Description = description };
}
