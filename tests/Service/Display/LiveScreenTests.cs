using System.Text.RegularExpressions;
using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Microsoft.Extensions.Time.Testing;
using Spectre.Console.Testing;

namespace Acquire.Service.Tests.Display;

public sealed class LiveScreenTests
{
    private readonly FakeTimeProvider _time = new();
    private readonly KeptLog _kept = new();

    [Fact]
    public async Task It_draws_four_times_a_second_and_once_more_at_the_end()
    {
        using TestConsole console = Console();
        int asked = 0;
        await Show(console, () => { asked++; return new LiveState { Phase = RunPhase.Spinning, Turns = asked }; }, seconds: 3);

        Assert.Equal(1 + 12 + 1, asked);
        Assert.Contains("turns     14", Plain(console));
        Assert.Empty(_kept.Lines);
    }

    [Fact]
    public async Task A_state_that_cannot_be_drawn_is_said_once_and_the_next_is_drawn()
    {
        using TestConsole console = Console();
        int asked = 0;
        await Show(console, () => ++asked is 2 or 3 ? throw new InvalidOperationException("no state") : new LiveState { Phase = RunPhase.Spinning, Turns = asked }, seconds: 2);

        Assert.Equal(["Warning The display failed; the capture goes on without it"], _kept.Lines);
        Assert.Contains("turns     10", Plain(console));
    }

    [Fact]
    public async Task A_terminal_that_changes_its_size_is_drawn_anew()
    {
        using TestConsole console = Console();
        int asked = 0;
        await Show(console, () => { if (++asked == 3) console.Profile.Width = 60; return new LiveState { LinkUp = true }; }, seconds: 2);
        Assert.Contains("\u001b[2J", console.Output);
        Assert.Empty(_kept.Lines);
    }

    private static string Plain(TestConsole console) => Regex.Replace(console.Output, "\u001b\\[[0-9;?]*[A-Za-z]", "");

    private static TestConsole Console()
    {
        var console = new TestConsole { EmitAnsiSequences = true };
        console.Profile.Capabilities.Interactive = true;
        console.Profile.Width = 80;
        console.Profile.Height = 30;
        return console;
    }

    private async Task Show(TestConsole console, Func<LiveState> live, int seconds)
    {
        using var end = new CancellationTokenSource();
        int before = 0;
        var counted = new Func<LiveState>(() => { Interlocked.Increment(ref before); return live(); });
        Task shown = new LiveScreen(console, new LiveView("runs"), _kept).RunAsync(counted, _time, _time, end.Token);
        for (int quarter = 0; quarter < 4 * seconds; quarter++)
        {
            int seen = Volatile.Read(ref before);
            _time.Advance(TimeSpan.FromMilliseconds(250));
            Assert.True(SpinWait.SpinUntil(() => Volatile.Read(ref before) > seen, 5000));
        }

        await end.CancelAsync();
        await shown;
    }
}
