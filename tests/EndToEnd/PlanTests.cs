using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using Acquire.Recording;
using Xunit;

namespace Acquire.EndToEnd.Tests;

/// <summary>A plan spun through on a simulated bench: whoever launches reads what is next from the capture's log, fits that cover and launches.</summary>
public sealed partial class PlanTests
{
    private const string Speed = "60";
    private const double SpinMinutes = 0.75;
    private const double RingGain = 1.10; // the effect that is built in: a ring lengthens the spin by a tenth at all speeds, a jar does nothing
    private int _launches;
    private int _heard; // of the capture's log

    [Fact]
    public async Task Twelve_runs_are_spun_in_the_sheets_order_through_a_failed_launch_a_spoilt_run_and_a_kill()
    {
        using var bench = new Bench();
        string sheet = Path.Combine(bench.Folder, "plan.csv");
        Run("plan", sheet, "--factor", "cover=none,ring,jar", "--repeats", "4", "--seed", "3", "--from", "1700", "--to", "500");
        string[][] rows = [.. File.ReadAllLines(sheet).Skip(1).Select(l => l.Split(','))];
        Assert.Equal(12, rows.Length);

        using (Started first = Capture(bench, sheet))
        {
            for (int row = 1; row <= 8; row++)
            {
                await Launch(bench, first, Announcement(row, rows), peakRpm: row == 3 ? 1500 : 1850, kill: row == 8);
                if (row == 3)
                    await Launch(bench, first, Announcement(row, rows) + ", again (it began at 14");
                if (row != 5)
                    continue;
                Run("edit", Runs(bench).Single(r => r.Run.Plan!.Row == 5).Name, "--spoilt", "knocked", "--library", bench.Library);
                await Launch(bench, first, Announcement(row, rows) + ", again (knocked)");
            }

            Assert.Equal(128 + 9, first.Wait(20));
        }

        using Started second = Capture(bench, sheet);
        await Launch(bench, second, Announcement(8, rows) + ", again (it was last seen at");
        for (int row = 9; row <= 12; row++) await Launch(bench, second, Announcement(row, rows));
        Assert.Equal(0, second.Wait(30));
        Assert.Contains("all 12 rows have their run", second.Error, StringComparison.Ordinal);

        Assert.Empty(RunVerifier.VerifyLibrary(bench.Library));
        (string Name, RunDescriptor Run)[] runs = [.. Runs(bench)];
        Assert.Equal([3, 5, 8], runs.Where(r => r.Run.Spoilt is not null).Select(r => r.Run.Plan!.Row));
        (string Name, RunDescriptor Run)[] good = [.. runs.Where(r => r.Run.Spoilt is null)];
        Assert.Equal(rows.Select(r => (r[0], r[1], r[2], r[3])), good.Select(r => (r.Run.Plan!.Id, Text(r.Run.Plan.Row), Text(r.Run.Plan.Block), r.Run.Setup.Cover)));
        Assert.All(runs, r => Assert.Equal(("oak", "glass"), (r.Run.Setup.Top, r.Run.Setup.Base)));

        JsonElement status = JsonDocument.Parse(Run("plan", sheet, "--library", bench.Library, "--json")).RootElement;
        Assert.Equal((12, JsonValueKind.Null), (status.GetProperty("done").GetInt32(), status.GetProperty("next").ValueKind));
        JsonElement answer = JsonDocument.Parse(Run("compare", "--library", bench.Library, "--baseline", "cover=none", "--variant", "cover=ring", "cover=jar", "--from", "1700", "--to", "500", "--json")).RootElement;
        JsonElement[] variants = [.. answer.GetProperty("variants").EnumerateArray()];
        Assert.Equal((4, 4, 4), (answer.GetProperty("baselineRuns").GetInt32(), variants[0].GetProperty("runs").GetInt32(), variants[1].GetProperty("runs").GetInt32()));
        Assert.InRange(100 * (RingGain - 1), variants[0].GetProperty("lowPercent").GetDouble(), variants[0].GetProperty("highPercent").GetDouble());
        Assert.InRange(0, variants[1].GetProperty("lowPercent").GetDouble(), variants[1].GetProperty("highPercent").GetDouble());
        Assert.True(variants[0].GetProperty("pValue").GetDouble() < 0.01);

        string comparison = ReadmeTests.OfPlan().Single(l => l.StartsWith("scripts/acquire compare ", StringComparison.Ordinal));
        Assert.Contains("helps: +", Run([.. comparison.Split(' ').Skip(1), "--library", bench.Library]), StringComparison.Ordinal);

        using Started done = Capture(bench, sheet);
        Assert.Equal(0, done.Wait(20));
        Assert.Contains("has its run already", done.Error, StringComparison.Ordinal);
    }

    // By the board's own clock: this computer's is 60 times as fast, and so is what a busy machine delays lines by.
    private static Started Capture(Bench bench, string sheet) =>
        Started.Acquire("capture", "--clock", "board", "--clock-limit", "5000", "--port", bench.Port, "--time-scale", Speed, "--library", bench.Library, "--top", "oak", "--base", "glass", "--cover", "as the plan says", "--plan", sheet);

    private static string Announcement(int row, string[][] rows) => $"next row {row} of 12 (block {rows[row - 1][2]}): cover={rows[row - 1][3]}";

    // Waits until it is said what is next, which must be as expected, fits that and launches; then waits until the run is saved or kills the capture.
    private async Task Launch(Bench bench, Started capture, string expected, double peakRpm = 1850, bool kill = false)
    {
        int launch = _launches++;
        int said = await capture.Said(expected, 30, _heard);
        Assert.StartsWith(expected, Next().Matches(capture.Error)[^1].Value, StringComparison.Ordinal);
        string cover = expected.Split("cover=")[1].Split(',')[0];
        double scatter = Math.Exp(0.008 * Math.Sin(12.9898 * launch)); // from run to run, invented
        double minutes = kill ? 15 : SpinMinutes * (cover == "ring" ? RingGain : 1) * scatter; // the kill falls well within the spin
        using Started board = Started.Player(
            "--link", bench.Port, "--speed", Speed, "--minutes", Text(minutes), "--peak", Text(peakRpm), "--seed", Text(launch + 1), "--idle", "20", "--rest", "60", "--misses", "0", "--glints", "0", "--stay");
        if (kill)
        {
            await capture.Said("spinning", 30, said);
            await Task.Delay(TimeSpan.FromSeconds(3), TimeProvider.System, TestContext.Current.CancellationToken); // the journal is synced each second
            capture.Signal(9);
            _heard = 0; // the next capture's log is another
        }
        else
        {
            _heard = await capture.Said("Plan", 30, said);
        }
    }

    // In the order in which they were written: the scaled time of the second capture begins anew.
    private static IEnumerable<(string Name, RunDescriptor Run)> Runs(Bench bench) =>
        RunLibrary.List(bench.Library).OrderBy(r => File.GetLastWriteTimeUtc(Path.Combine(r.Folder, "pulses.csv"))).Select(r => (r.Name, r.Descriptor!));

    private static string Run(params string[] words)
    {
        using Started acquire = Started.Acquire(words);
        Assert.True(acquire.Wait(60) == 0, $"{string.Join(' ', words)}\n{acquire.Output}\n{acquire.Error}");
        return acquire.Output;
    }

    private static string Text(double value) => value.ToString(CultureInfo.InvariantCulture);

    [GeneratedRegex("next row .*")]
    private static partial Regex Next();
}
