using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Recording.Tests;

/// <summary>A run of invented data that version 1 of the format wrote; see Fixtures/README.md.</summary>
public sealed class OldFormatTests
{
    private static readonly string Library = Path.Combine(AppContext.BaseDirectory, "Fixtures", "version-1");

    private static readonly string Run = Path.Combine(Library, "20270314T092653Z-eiche-grosser-rand");

    [Fact]
    public void A_descriptor_of_version_1_is_read()
    {
        RunDescriptor run = RunPackageReader.ReadDescriptor(Run);
        Assert.Equal(1, run.Version);
        Assert.Equal("acquire 0.1.0", run.Software);
        Assert.Equal(new DateTimeOffset(2027, 3, 14, 9, 26, 53, 412, TimeSpan.Zero), run.StartedAt);
        Assert.Equal(EndReasons.Stopped, run.EndReason);
        Assert.Equal("Eiche, großer Rand", run.Setup.Top);
        Assert.Equal(["clearance_mm", "dish_radius_mm"], run.Setup.Factors.Keys.Order());
        Assert.Equal(2.5, run.Setup.Factors["clearance_mm"]);
        Assert.Equal([0, 0.497], run.Source.MarkOffsets);
        Assert.Equal(new RunClock(-1200.3, 0.8, "synchronised"), run.Clock);
        Assert.Equal(new RunCounts(25, 24, 1, 2, 1, 1, 0, 1), run.Counts);
        Assert.Equal(new RunResult(2000.5, 0.25, 0.05, 0.4, 0.35, double.NaN, 1678.25), run.Result);
    }

    [Fact]
    public void Tables_of_version_1_are_read()
    {
        RunPulses pulses = RunPackageReader.ReadPulses(Run);
        Assert.Equal(25, pulses.Count);
        Assert.Equal(4_030_000, pulses.Ticks[1]);
        Assert.Equal(0.015018026, pulses.TimeS[1]); // 30,000 ticks / (2 MHz × (1 − 1200.3e-6)) = 0.0150180261… s
        Assert.Equal(double.NaN, pulses.WidthS[5]);
        Assert.Equal(PulseKind.Extra, pulses.Kind[12]);
        Assert.Equal(-1, pulses.Mark[12]);
        Assert.Equal(5.512, pulses.Turns[12]);
        Assert.Equal(1, pulses.Mark[24]);

        IReadOnlyList<SpeedPoint> speed = RunPackageReader.ReadSpeed(Run);
        Assert.Equal([2000.5, double.NaN, 1840.125], speed.Select(point => point.Rpm));
        Assert.Equal(0.0021, speed[2].UDecelRpmPerS);

        IReadOnlyList<RunEvent> events = RunPackageReader.ReadEvents(Run);
        Assert.Equal(new RunEvent(0.09, RunEventNames.SignalLost, "hand before the sensor, \"twice\""), events[2]);
        Assert.Equal(new RunEvent(0.4, RunEventNames.Stop, "two\nlines"), events[4]);
    }

    [Fact]
    public void A_library_of_version_1_verifies() => Assert.Empty(RunVerifier.VerifyLibrary(Library));
}
