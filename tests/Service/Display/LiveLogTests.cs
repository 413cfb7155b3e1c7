using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Microsoft.Extensions.Time.Testing;

namespace Acquire.Service.Tests.Display;

public sealed class LiveLogTests
{
    private static readonly LiveState Waiting = new() { LinkUp = true };
    private static readonly LiveState Spinning = new() { LinkUp = true, Phase = RunPhase.Spinning, Rpm = 1200, URpm = 1, SinceReleaseS = 61 };
    private readonly FakeTimeProvider _time = new();
    private readonly KeptLog _kept = new();

    [Fact]
    public void It_says_changes_of_phase_and_nothing_in_between()
    {
        var log = new LiveLog(_kept);
        log.Look(() => Waiting, _time);
        log.Look(() => Waiting, _time);
        log.Look(() => Spinning, _time);
        log.Look(() => Spinning with { Rpm = 1190 }, _time);
        Assert.Equal(
            [
                "Information waiting for a launch; 0 pulses; 0 lost, 0 bad lines, 0 dropped by board",
                "Information spinning; 1200.0 rpm; 0:01:01 since release; 0 marks, 0 missed, 0 extra; 0 lost, 0 bad lines, 0 dropped by board",
            ],
            _kept.Lines);
    }

    [Fact]
    public void It_says_a_line_a_minute_while_something_spins_and_none_while_nothing_does()
    {
        var log = new LiveLog(_kept);
        Minutes(log, Waiting, 10);
        Assert.Single(_kept.Lines);
        Minutes(log, Spinning, 10);
        Assert.InRange(_kept.Lines.Count, 11, 12);
    }

    [Fact]
    public void It_says_trouble_once_and_where_a_run_was_saved()
    {
        var log = new LiveLog(_kept);
        log.Look(() => Waiting, _time);
        log.Look(() => Waiting with { Trouble = "the disk is full", TroubleIsLogged = true }, _time);
        log.Look(() => Waiting with { Trouble = "the lamp flickers" }, _time);
        log.Look(() => Waiting with { Trouble = "the lamp flickers" }, _time);
        log.Look(() => Waiting with { FinishedRuns = 1, LastRun = "/runs/a" }, _time);
        Assert.Equal(["Warning the lamp flickers", "Information Run saved in /runs/a"], _kept.Lines[1..]);
    }

    [Fact]
    public void It_says_lamp_light_once_in_each_wait_with_its_frequency()
    {
        var log = new LiveLog(_kept);
        log.Look(() => Waiting, _time);
        foreach (double hz in new[] { 100.12, double.NaN, 100.08 }) log.Look(() => Waiting with { LampHz = hz }, _time);
        Assert.Equal("Information waiting for a launch; lamp light, 100.1 Hz; 0 pulses; 0 lost, 0 bad lines, 0 dropped by board", Assert.Single(_kept.Lines[1..]));
        log.Look(() => Spinning, _time);
        log.Look(() => Waiting with { LampHz = 119.96 }, _time);
        Assert.Contains("lamp light, 120.0 Hz", _kept.Lines[^1], StringComparison.Ordinal);
    }

    [Fact]
    public void A_fault_of_its_own_is_said_once_and_goes_no_further()
    {
        var log = new LiveLog(_kept);
        for (int i = 0; i < 3; i++) log.Look(() => throw new InvalidOperationException("no state"), _time);
        Assert.Equal(["Warning The live log failed; the capture goes on without it"], _kept.Lines);
    }

    private void Minutes(LiveLog log, LiveState state, int minutes)
    {
        for (int quarter = 0; quarter < 240 * minutes; quarter++)
        {
            _time.Advance(TimeSpan.FromMilliseconds(250));
            log.Look(() => state, _time);
        }
    }
}
