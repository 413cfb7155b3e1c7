using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Reports;
using Acquire.Service.Runs;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Tests.Reports;

public sealed class RunReportTests : IDisposable
{
    private const int MostBytes = 200_000;
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Folder(FinishedRun run) => Path.Combine(_bench.Library, SampleRuns.Write(_bench.Library, run));

    private static string Page(string folder) => File.ReadAllText(Path.Combine(folder, "report.html"));

    [Fact]
    public void The_page_is_light_stands_by_itself_and_leaves_the_run_as_written()
    {
        string folder = Folder(LossRun.Make());
        Assert.Equal(0, _bench.Run("show", folder, "--report"));
        Assert.Equal(Path.Combine(folder, "report.html") + "\n", _bench.Out);
        string page = Page(folder);
        Assert.InRange(new FileInfo(Path.Combine(folder, "report.html")).Length, 20_000, MostBytes);
        foreach (string said in (string[])["oak rim, 14 March 2027 09:26 UTC", "Spun for ", "rim_mass_g", "Time in each band", "Loss law", "Cautions", "Counts", "Events"])
            Assert.Contains(said, page, StringComparison.Ordinal);
        Assert.Equal(2, page.Split("<svg").Length - 1);
        foreach (string outside in (string[])["<script", "src=", "url(http", "href=\"http", "@import"])
            Assert.DoesNotContain(outside, page, StringComparison.OrdinalIgnoreCase);
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public void What_a_reader_must_be_careful_of_stands_in_the_page()
    {
        FinishedRun made = SampleRuns.Make(gap: (300, 420), endReason: EndReasons.Recovered, marksSeen: 2, stop: new RunStop(false, 1400) { LatestS = 1500 });
        var run = new FinishedRun
        {
            Descriptor = made.Descriptor with { Clock = made.Descriptor.Clock with { HostClock = "unsynchronised" }, Counts = made.Descriptor.Counts with { LostOnLine = 7 } },
            Pulses = made.Pulses,
            SecondsPerTick = made.SecondsPerTick,
            Speed = made.Speed,
            Events = made.Events,
        };
        string folder = Folder(run);
        Assert.Null(RunReport.TryWrite(folder));
        string page = System.Net.WebUtility.HtmlDecode(Page(folder));
        foreach (string said in (string[])["Your --marks looks wrong: 2 seen", "was cut short and this was recovered", "no later than 1500.0 s", "lost 1 time: no speed", "7 pulses on the line", "clock was not known to be right", "[lamp] off", "Local codes come first"])
            Assert.Contains(said, page, StringComparison.Ordinal);
    }

    [Fact]
    public void A_run_of_a_few_speeds_has_its_page_too()
    {
        FinishedRun made = SampleRuns.Make();
        string folder = Folder(new FinishedRun { Descriptor = made.Descriptor, Pulses = made.Pulses, SecondsPerTick = made.SecondsPerTick, Speed = [.. made.Speed.Take(4)], Events = made.Events });
        Assert.Null(RunReport.TryWrite(folder));
        Assert.Contains("not seen over enough speeds", Page(folder), StringComparison.Ordinal);
    }

    [Fact]
    public void An_edit_makes_the_page_anew()
    {
        string folder = Folder(SampleRuns.Make());
        Assert.Null(RunReport.TryWrite(folder));
        Assert.DoesNotContain("bell glass", Page(folder), StringComparison.Ordinal);
        Assert.Equal(0, _bench.Run("edit", folder, "--cover", "bell glass"));
        Assert.Contains("bell glass", Page(folder), StringComparison.Ordinal);
    }

    [Fact]
    public void Where_it_cannot_be_written_that_is_a_value_and_the_run_stays()
    {
        string folder = Folder(SampleRuns.Make());
        Directory.CreateDirectory(Path.Combine(folder, "report.html"));
        Assert.Contains("the run is whole without it", RunReport.TryWrite(folder), StringComparison.Ordinal);
        Directory.Delete(Path.Combine(folder, "report.html"));
        Assert.Empty(RunVerifier.Verify(folder));
    }

    [Fact]
    public void A_page_cut_short_by_a_power_cut_counts_for_nothing_and_is_gone_with_the_next()
    {
        string folder = Folder(SampleRuns.Make());
        string cut = Path.Combine(folder, RunCompanions.UnfinishedReport);
        File.WriteAllText(cut, "<!DOCTYPE ht");
        Assert.Empty(RunVerifier.Verify(folder));
        Assert.Null(RunReport.TryWrite(folder));
        Assert.False(File.Exists(cut));
        Assert.Contains("</html>", Page(folder), StringComparison.Ordinal);
    }

    [Fact]
    public void An_imported_run_has_its_page()
    {
        string file = Path.Combine(_bench.Current, "speeds.csv");
        File.WriteAllLines(file, ["t,rpm", .. Enumerable.Range(0, 600).Select(i => FormattableString.Invariant($"{i},{1500 * Math.Exp(-i / 400.0):F3}"))]);
        Assert.True(_bench.Run("import", file, "--kind", "speed", "--time-column", "t", "--value-column", "rpm") == 0, _bench.Error);
        Assert.Contains("Made of given speeds", Page(_bench.Out.Trim()), StringComparison.Ordinal);
    }

    [Fact]
    public void A_process_of_its_own_makes_it_and_says_why_where_it_cannot()
    {
        string folder = Folder(SampleRuns.Make());
        ReportProcess.Write(folder, TestContext.Current.CancellationToken);
        Assert.Contains("</html>", Page(folder), StringComparison.Ordinal);
        File.Delete(Path.Combine(folder, "speed.csv"));
        Exception why = Assert.Throws<InvalidOperationException>(() => ReportProcess.Write(folder, TestContext.Current.CancellationToken));
        Assert.Contains("speed.csv", why.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void One_that_does_not_end_is_told_to_and_then_left_so_that_the_capture_ends()
    {
        using var never = new ManualResetEventSlim();
        using var began = new ManualResetEventSlim();
        bool told = false;
        var reporting = new ReportingThread(
            (_, stop) =>
            {
                began.Set();
                told = stop.WaitHandle.WaitOne(20_000);
                never.Wait(20_000, CancellationToken.None);
            },
            NullLogger.Instance);
        reporting.Add("a");
        Assert.True(began.Wait(20_000, TestContext.Current.CancellationToken));
        reporting.Finish(longestMs: 300);
        Assert.True(told);
        reporting.Add("b"); // too late, and no fault
        never.Set();
    }
}
