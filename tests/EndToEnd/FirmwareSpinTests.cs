using System.Globalization;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Results;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed class FirmwareSpinTests
{
    private const int Speed = 60;

    // The real image, executed cycle by cycle, is shown the marks of an invented spin; the port is a real pseudo-terminal. 75 minutes
    // at 2 MHz cross the wrap of the board's 32-bit counter (2³² / 2 MHz = 35.79 min) twice.
    [Fact]
    public async Task A_75_minute_spin_through_the_real_firmware_becomes_one_run_that_tells_the_truth()
    {
        using var bench = new Bench();
        SimulatedSpin spin = LongSpin();
        SpinTruth truth = spin.Spins.Single();
        string marks = Path.Combine(bench.Folder, "marks.txt");
        long shown = Write(spin, marks);
        Assert.InRange(truth.SpinTimeS, 74 * 60, 80 * 60);
        Assert.True(truth.StopS > 2 * Math.Pow(2, 32) / 2e6, "the counter must wrap twice");

        using var board = new Started(Checkout.Bench, "--link", bench.Port, "--speed", $"{Speed}", "--tail", "240", "--wait-open", Checkout.Image, marks);
        await bench.PortIsThere();
        using Started capture = Started.Acquire(
            "capture", "--port", bench.Port, "--once", "--time-scale", $"{Speed}", "--library", bench.Library, "--top", "Long Spinner");
        Assert.Equal(0, capture.Wait(240));

        string run = bench.OnlyRun();
        Assert.Equal(run, capture.LastLine);
        RunDescriptor found = RunPackageReader.ReadDescriptor(run);
        Assert.Equal("stopped", found.EndReason);
        Assert.Equal((shown, 0, 0, 0, 0), (found.Counts.Marks, found.Counts.Extra, found.Counts.Missed, found.Counts.BadLines, found.Counts.LostOnLine));

        // Turns are counted from the first mark to the last, as the truth has them.
        RunPulses pulses = RunPackageReader.ReadPulses(run);
        Assert.Equal(shown - 1, pulses.Turns[^1]);

        // Times count from the first mark, which the truth places so many seconds after power-up.
        double firstS = spin.Pulses().First().TimeS;
        Assert.Equal(truth.ReleaseS, found.Result.ReleaseS + firstS, 0.5);
        Assert.Equal(truth.ToppleS, found.Result.StopS + firstS, 0.5);
        Assert.Equal(truth.SpinTimeS, found.Result.SpinTimeS, 0.5);
        Decay(run, found, truth, 1800, 500);
        Decay(run, found, truth, 1500, 1000);
        Decay(run, found, truth, 800, 300);
    }

    private static void Decay(string run, RunDescriptor found, SpinTruth truth, double fromRpm, double toRpm)
    {
        DecayTime? decay = DecayTime.Between(
            RunPackageReader.ReadSpeed(run), found.Result.ReleaseS, fromRpm, toRpm, found.Clock.URatePpm);
        double trueS = truth.DecayTimeS(fromRpm, toRpm);
        Assert.NotNull(decay);
        Assert.Equal(trueS, decay.Seconds, 2e-4 * trueS);
    }

    private static SimulatedSpin LongSpin() => new(new SpinScenario
    {
        Seed = 75,
        Spins =
        [
            new SpinPlan
            {
                RestBeforeS = 8,
                Pushes = [new Push(1850, 0.6)],
                Loss = [new LossTerm(0, 0.0135), new LossTerm(1, 0.0081), new LossTerm(1.5, 0.0135), new LossTerm(2, 0.0054)],
            },
        ],
        Sensor = new SensorSettings { JitterS = 3e-6 },
    });

    private static long Write(SimulatedSpin spin, string path)
    {
        using var file = new StreamWriter(path);
        long count = 0;
        foreach (SimulatedPulse pulse in spin.Pulses())
        {
            file.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{pulse.TimeS:F9} {pulse.WidthS:F9}"));
            count++;
        }

        return count;
    }
}
