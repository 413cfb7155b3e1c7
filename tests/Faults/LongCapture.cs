using System.Text.RegularExpressions;
using Acquire.Acquisition.Simulation;
using Acquire.Player;
using Acquire.Recording;
using Acquire.Terminals;

namespace Acquire.Faults;

/// <summary>A long capture by the real program of an undisturbed simulated board behind a pseudo-terminal, many times faster than the clock on the
/// wall, and what it must come to: every spin a run, every mark and turn there, nothing lost.</summary>
internal sealed partial class LongCapture(SpinScenario scenario, double timesFaster, bool isFlat)
{
    private const double OpensWithinS = 30;
    private const double LookEveryS = 0.1;
    private const int EndsWithinS = 60;
    private const int EndedByUser = 130;
    private const double MostMb = 100; // at any moment, for what is too short to be flat
    private const double MostFlatMb = 80;
    private readonly SimulatedSpin _spin = new(scenario);

    public FlatWatch Watch { get; } = new();

    /// <summary>The largest the folder of open journals was, bytes.</summary>
    public long MostOpenBytes { get; private set; }

    /// <summary>Journals that were begun.</summary>
    public int Journals => _journals.Count;

    /// <summary>Runs that were finished.</summary>
    public int Runs { get; private set; }

    /// <summary>Marks in them.</summary>
    public long Marks { get; private set; }

    private readonly HashSet<string> _journals = [];

    public void Run(List<string> wrong)
    {
        using var scratch = new Scratch();
        string library = scratch.At("runs");
        using var ended = new CancellationTokenSource();
        using var terminal = new PseudoTerminal(holdPort: false, scratch.At("board"));
        using var player = new BoardPlayer(terminal, _spin, timesFaster, 0, stays: true);
        var thread = new Thread(() => Play(player, ended.Token)) { IsBackground = true, Name = "board" };
        thread.Start();
        using (var capture = new CaptureProcess(
            [], "capture", "--port", scratch.At("board"), "--library", library, "--marks", $"{scenario.Sensor.MarkOffsetsTurns.Count}",
            "--time-scale", FormattableString.Invariant($"{timesFaster}"), "--stop-wait", "10"))
        {
            if (Follow(capture, library, wrong))
                End(capture, wrong);
        }

        ended.Cancel();
        thread.Join(2000);
        Check(library, wrong);
    }

    private static void Play(BoardPlayer player, CancellationToken ended)
    {
        try
        {
            player.Play(ended);
        }
        catch (Exception e) when (ended.IsCancellationRequested && e is ObjectDisposedException or System.ComponentModel.Win32Exception)
        {
            // The terminal went first.
        }
    }

    private bool Follow(CaptureProcess capture, string library, List<string> wrong)
    {
        long began = TimeProvider.System.GetTimestamp();
        double NowS() => TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        using var never = new ManualResetEventSlim();
        string open = Path.Combine(library, RunLibrary.OpenFolder);
        while (!Directory.Exists(open) && !capture.HasEnded && NowS() < OpensWithinS)
            never.Wait(20);
        double opened = NowS();
        double until = opened + (_spin.Motion.DurationS / timesFaster) + 0.5; // the board began within that time
        while (NowS() < until && !capture.HasEnded)
        {
            Watch.Add(ProcessFigures.Read(capture.Id, NowS()));
            Look(open);
            never.Wait(TimeSpan.FromSeconds(LookEveryS));
        }

        if (capture.HasEnded)
            wrong.Add($"the capture ended by itself: {capture.Error}");
        return !capture.HasEnded;
    }

    private void Look(string open)
    {
        long bytes = 0;
        foreach (FileInfo file in new DirectoryInfo(open).EnumerateFiles("*.journal"))
        {
            _journals.Add(file.Name);
            try
            {
                bytes += file.Length;
            }
            catch (FileNotFoundException)
            {
                // Let go just now.
            }
        }

        MostOpenBytes = Math.Max(MostOpenBytes, bytes);
    }

    private static void End(CaptureProcess capture, List<string> wrong)
    {
        if (!capture.Signal("TERM", EndsWithinS))
            wrong.Add($"it did not end within {EndsWithinS} s of SIGTERM");
        else if (capture.ExitCode != EndedByUser)
            wrong.Add($"it ended with {capture.ExitCode} on SIGTERM: {capture.Error}");
        Match? loss = Losses().Matches(capture.Error).FirstOrDefault(m => m.Groups.Values.Skip(1).Any(g => g.Value != "0"));
        if (loss is not null)
            wrong.Add("the log tells of losses: " + loss.Value);
    }

    private void Check(string library, List<string> wrong)
    {
        LibraryCheck.Verify(library, wrong);
        IReadOnlyList<LibraryRun> runs = RunLibrary.List(library);
        Runs = runs.Count(r => r.Descriptor is { EndReason: EndReasons.Stopped });
        if (runs.Count != _spin.Spins.Count || Runs != runs.Count)
            wrong.Add($"{runs.Count} runs, of which {Runs} stopped by themselves, of {_spin.Spins.Count} spins");
        for (int i = 0; i < Math.Min(runs.Count, _spin.Spins.Count); i++)
        {
            if (runs[i].Descriptor is { } descriptor)
                CheckRun(i, runs[i], descriptor, wrong);
        }

        if (isFlat)
            Watch.IsFlat(MostFlatMb, wrong);
        else if (Watch.MostMb > MostMb)
            wrong.Add(FormattableString.Invariant($"{Watch.MostMb:F1} MB of memory"));
        if (Directory.EnumerateFiles(Path.Combine(library, RunLibrary.OpenFolder), "*.journal").Any())
            wrong.Add("a journal was left");
    }

    private void CheckRun(int spin, LibraryRun run, RunDescriptor descriptor, List<string> wrong)
    {
        SpinTruth truth = _spin.Spins[spin];
        SimulatedPulse[] marks = [.. _spin.Pulses().Where(p => p.TimeS >= truth.LaunchS && p.TimeS <= truth.StopS)];
        double turns = (marks[^1].Mark - marks[0].Mark) / (double)scenario.Sensor.MarkOffsetsTurns.Count;
        double told = double.Parse(File.ReadLines(Path.Combine(run.Folder, "pulses.csv")).Last().Split(',')[4], System.Globalization.CultureInfo.InvariantCulture);
        RunCounts counts = descriptor.Counts;
        Marks += counts.Marks;
        if (counts.Received != marks.Length || counts.Marks != marks.Length || counts.Missed != 0 || Math.Abs(told - turns) > 0.01)
            wrong.Add(FormattableString.Invariant($"spin {spin + 1} of {marks.Length} marks and {turns:F2} turns: {counts}, {told:F2} turns"));
        else if (counts.BadLines + counts.LostOnLine + counts.DroppedByBoard + counts.Gaps != 0)
            wrong.Add($"spin {spin + 1}: {counts}");
    }

    [GeneratedRegex(@"(\d+) lost, (\d+) bad lines, (\d+) dropped by board")]
    private static partial Regex Losses();
}
