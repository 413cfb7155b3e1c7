using System.Text.Json;
using Acquire.Acquisition.Air;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Capture;

/// <summary>Captures with a sensor of the air beside them.</summary>
public sealed class AirCaptureTests : IDisposable
{
    private const string Name = "bme280@1:0x76";
    private static readonly AirReading Usual = new(21.25, 1004.5, 48);
    private readonly Bench _bench = new();
    private readonly KeptLog _log = new();

    public void Dispose() => _bench.Dispose();

    // About half a minute from release to fall.
    private static SpinPlan ShortSpin(double restS = 5) => new()
    {
        RestBeforeS = restS,
        ToppleRpm = 400,
        Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)],
    };

    private (CaptureOutcome Outcome, CaptureSession Session) Capture(
        IReadOnlyList<SpinPlan> spins, Func<int, AirReading>? read, Action<CaptureOptions>? change = null, Action<CaptureSession>? during = null)
    {
        var time = new ScaledTimeProvider(TimeProvider.System, 50);
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(new SimulatedSpin(new SpinScenario { Spins = spins, RestAfterS = 60 }), time);
        var options = new CaptureOptions { Port = "simulated", Library = _bench.Library, TimeScale = 50, Air = read is null ? "" : Name };
        change?.Invoke(options);
        int looks = 0;
        CaptureSession session = CapturePipeline.Compose(options, source, time, _log, openAir: _ => new Sensor(() => read!(++looks)));
        Task? other = during is null ? null : Task.Run(() => during(session));
        CaptureOutcome outcome = session.Run(TestContext.Current.CancellationToken);
        other?.GetAwaiter().GetResult();
        return (outcome, session);
    }

    [Fact]
    public void A_run_gets_the_air_from_just_before_its_first_pulse_to_its_end()
    {
        var (outcome, session) = Capture([ShortSpin(25)], _ => Usual);
        string folder = Assert.Single(outcome.Runs);
        IReadOnlyList<EnvironmentPoint> air = RunPackageReader.ReadEnvironment(folder);
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        Assert.InRange(air.Count, (int)(run.Result.StopS / 10) - 1, (int)(run.Result.StopS / 10) + 3);
        Assert.InRange(air[0].TimeS, -15, 0); // ten seconds, and what a busy machine adds at fifty times the speed
        Assert.All(air.Skip(1), p => Assert.InRange(p.TimeS, 0, run.Result.StopS));
        Assert.All(air, p => Assert.Equal(Usual, new AirReading(p.TemperatureC, p.PressureHPa, p.HumidityPct)));
        Assert.Equal(new RunAir(Name, air.Count, 0), run.Air);
        Assert.Empty(RunVerifier.Verify(folder));
        LiveAir live = Assert.Single(session.Live.Air);
        Assert.Equal((Name, Usual, null), (live.Sensor, live.Last, live.Problem));

        Assert.Equal(0, _bench.Run("show", folder, "--plot", Path.Combine(_bench.Current, "a.png")));
        Assert.Contains("temperature  21.2 °C", _bench.Out.Replace("21.3", "21.2", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.Contains($"from         {Name}, {air.Count} read", _bench.Out, StringComparison.Ordinal);
        Assert.Equal(0, _bench.Run("show", folder, "--report"));
        Assert.Contains("1004.5 hPa", File.ReadAllText(Path.Combine(folder, "report.html")), StringComparison.Ordinal);
    }

    [Fact]
    public void A_sensor_that_fails_in_mid_run_is_told_once_left_out_and_taken_again()
    {
        string? trouble = null;
        var (outcome, session) = Capture(
            [ShortSpin() with { Loss = [new LossTerm(0, 0.5), new LossTerm(1, 0.4)] }],
            look => look is 4 or 5 ? throw new IOException("Error 121 performing I2C data transfer.") : Usual,
            during: s => SpinWait.SpinUntil(() => (trouble = s.Live.Trouble) is not null, 20_000));
        string folder = Assert.Single(outcome.Runs);
        const string Said = "Air sensor bme280@1:0x76: nothing answers at address 0x76 of bus 1: check wires, supply and address.";
        Assert.Equal(Said, trouble);
        Assert.Equal(new[] { RunEventNames.AirLost, RunEventNames.AirBack }, RunPackageReader.ReadEvents(folder).Select(e => e.Event).Where(e => e.StartsWith("air", StringComparison.Ordinal)));
        RunAir air = RunPackageReader.ReadDescriptor(folder).Air!;
        Assert.Equal((2L, RunPackageReader.ReadEnvironment(folder).Count), (air.LeftOut, (int)air.Readings));
        Assert.Single(_log.Lines, l => l == $"Warning {Said} The capture goes on without");
        Assert.Single(_log.Lines, l => l.StartsWith("Warning Air sensor bme280@1:0x76 is read again, after ", StringComparison.Ordinal));
        Assert.Null(session.Live.Trouble);
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public void A_sensor_that_is_not_there_or_hangs_costs_no_run()
    {
        var (away, _) = Capture([ShortSpin()], _ => throw new AirSensorException("away"));
        string folder = Assert.Single(away.Runs);
        Assert.False(File.Exists(Path.Combine(folder, "environment.csv")));
        Assert.True(RunPackageReader.ReadDescriptor(folder).Air is { Readings: 0, LeftOut: > 1, Source: Name });
        Assert.Empty(RunVerifier.Verify(folder));

        using var never = new ManualResetEventSlim();
        string? trouble = null;
        var (hung, _) = Capture(
            [ShortSpin()],
            look =>
            {
                if (look > 1) never.Wait();
                return Usual;
            },
            during: s => SpinWait.SpinUntil(() => (trouble = s.Live.Trouble) is not null, 20_000));
        Assert.Single(hung.Runs);
        Assert.False(hung.Failed);
        Assert.StartsWith("Air sensor bme280@1:0x76: it hangs: no answer for ", trouble, StringComparison.Ordinal);
        never.Set();
    }

    [Fact]
    public void Values_entered_by_hand_are_one_row_and_stand_in_each_run()
    {
        var (outcome, _) = Capture([ShortSpin(), ShortSpin(30)], null, o => (o.TemperatureC, o.PressureHPa) = (19.5, 1009));
        Assert.Equal(2, outcome.Runs.Count);
        Assert.All(outcome.Runs, folder =>
        {
            Assert.Equal("time_s,temperature_c,pressure_hpa,humidity_pct\n0.000,19.500,1009.000,\n", File.ReadAllText(Path.Combine(folder, "environment.csv")));
            Assert.Equal(new RunAir("by hand", 1, 0), RunPackageReader.ReadDescriptor(folder).Air);
            Assert.Empty(RunVerifier.Verify(folder));
        });
    }

    // The journal is copied while the body spins, as a power cut would leave it.
    [Fact]
    public void What_was_read_before_a_power_cut_is_in_the_run_that_is_recovered()
    {
        using var other = new Bench();
        Capture([ShortSpin()], _ => Usual, o => o.HumidityPct = null, during: s =>
        {
            Assert.True(SpinWait.SpinUntil(() => s.Live is { Phase: RunPhase.Spinning, SinceReleaseS: > 14 }, 20_000));
            string open = Directory.CreateDirectory(Path.Combine(other.Library, ".open")).FullName;
            SpinWait.SpinUntil(() => new FileInfo(s.Journal).Length > 2000, 20_000);
            File.Copy(s.Journal, Path.Combine(open, Path.GetFileName(s.Journal)));
        });
        string folder = Assert.Single(new Recovery(other.Library, TimeProvider.System, NullLogger.Instance).Run().Runs);
        IReadOnlyList<EnvironmentPoint> air = RunPackageReader.ReadEnvironment(folder);
        Assert.NotEmpty(air);
        Assert.All(air, p => Assert.Equal(Usual.PressureHPa, p.PressureHPa));
        Assert.Empty(RunVerifier.Verify(folder));
    }

    // A journal that begins while nothing spins has the last reading of the one before.
    [Fact]
    public void A_run_in_a_journal_of_its_own_finds_the_air_of_just_before_it_there()
    {
        int looks = 0;
        var (outcome, _) = Capture(
            [ShortSpin(), ShortSpin(60)],
            look => (looks = look) <= 10 ? Usual : throw new AirSensorException("away"));
        Assert.Equal(2, outcome.Runs.Count);
        Assert.True(looks > 10);
        Assert.Contains(RunPackageReader.ReadEnvironment(outcome.Runs[1]), p => p.TimeS < 0);
    }

    // Two days whose air is far apart, as between a winter high and a summer low in the hills; the loss of the second follows by similarity: what grows with the square
    // of the speed goes as the density.
    [Fact]
    public void A_comparison_over_two_days_is_brought_to_one_air_by_what_was_captured()
    {
        AirReading[] days = [new(15, 1035, 40), new(27, 930, 60)];
        double[] density = [.. days.Select(d => Results.Air.MoistAir.Of(d.TemperatureC, 100 * d.PressureHPa, d.HumidityPct / 100)!.DensityKgM3)];
        Assert.InRange(density[1] / density[0], 0.85, 0.87);
        for (int day = 0; day < 2; day++)
        {
            SpinPlan spin = ShortSpin() with { ToppleRpm = 300, Loss = [new LossTerm(0, 0.3), new LossTerm(2, 1.6 * density[day] / density[0])] };
            int today = day;
            Capture([spin, spin with { RestBeforeS = 40 }], _ => days[today], o => (o.Top, o.Cover) = ("disc", today == 0 ? "monday" : "friday"));
        }

        Assert.Equal(0, _bench.Run("compare", "--baseline", "cover=monday", "--variant", "cover=friday", "--from", "1700", "--to", "600", "--json"));
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.True(answer.GetProperty("inReferenceAir").GetBoolean());
        JsonElement variant = answer.GetProperty("variants")[0];
        Assert.InRange(variant.GetProperty("changeAsSpunPercent").GetDouble(), 8, 14);
        Assert.InRange(variant.GetProperty("changePercent").GetDouble(), -0.7, 0.7);
    }

    [Fact]
    public void A_status_names_the_sensor_what_it_reads_and_what_is_wrong()
    {
        LiveState live = new()
        {
            LinkUp = true,
            Air = [new LiveAir(Name, Usual, 5, 2, null), new LiveAir("sht4x@1:0x44", AirReading.None, 0, 3, "nothing answers")],
        };
        Assert.Equal("bme280@1:0x76: 21.3 °C, 1004.5 hPa, 48 % humidity", Service.Display.LiveWords.Air(live.Air[0]).Replace("21.2", "21.3", StringComparison.Ordinal));
        Assert.Equal("sht4x@1:0x44: nothing answers", Service.Display.LiveWords.Air(live.Air[1]));
    }

    private sealed class Sensor(Func<AirReading> read) : IAirSensor
    {
        private readonly byte[] _bytes = [0];

        public ReadOnlySpan<byte> LastBytes => _bytes;

        public AirReading Read()
        {
            unchecked { _bytes[0]++; }
            return read();
        }

        public void Dispose()
        {
        }
    }
}
