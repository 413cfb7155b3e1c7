using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Plans;

namespace Acquire.Service.Tests.Plans;

public sealed class PlanFollowerTests : IDisposable
{
    private const string Journal = "a journal";
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-follow-").FullName;
    private readonly KeptLog _log = new();
    private readonly PlanSheet _sheet = new("P", ["cover"], [new(1, 1, [("cover", "ring")], null), new(2, 1, [("cover", "none")], null), new(3, 2, [("cover", "ring")], null)]);

    public void Dispose() => Directory.Delete(_library, recursive: true);

    private PlanFollower Follow() => PlanFollower.Begin(_sheet, new CaptureOptions { Port = "none", Library = _library, Top = "oak", Cover = "usual" }, null, _log);

    private string Save(int number, RunBegan began, string? spoilt = null)
    {
        FinishedRun usual = SampleRuns.Make(start: SampleRuns.Start.AddHours(number));
        return Path.Combine(_library, SampleRuns.Write(_library, new FinishedRun
        {
            Descriptor = usual.Descriptor with { Setup = began.Setup!, Plan = began.Plan, Spoilt = spoilt },
            Pulses = usual.Pulses,
            SecondsPerTick = usual.SecondsPerTick,
            Speed = usual.Speed,
            Events = usual.Events,
        }));
    }

    private static void Becomes(PlanFollower plan, string words) =>
        Assert.True(SpinWait.SpinUntil(() => plan.Live.Words == words, 10_000), plan.Live.Words);

    [Fact]
    public void Runs_get_the_rows_in_order_and_a_launch_that_came_to_nothing_leaves_its_row_open()
    {
        using PlanFollower plan = Follow();
        RunBegan first = plan.Begin(Journal, 1, 17);
        Assert.Equal((1, 17L, "ring", "oak", new RunPlan("P", 1, 1)), (first.RunNumber, first.FirstPulse, first.Setup!.Cover, first.Setup.Top, first.Plan));
        Assert.Equal("now row 1 of 3 (block 1): cover=ring", plan.Live.Words);
        plan.Drop(Journal, 1);
        Assert.Equal("next row 1 of 3 (block 1): cover=ring", plan.Live.Words);
        RunBegan again = plan.Begin(Journal, 2, 40);
        Assert.Equal(1, again.Plan!.Row);
        plan.End(Journal, 2);
        Assert.Equal("saving row 1 of 3 (block 1): cover=ring", plan.Live.Words);
        Assert.Equal(2, plan.Begin(Journal, 3, 60).Plan!.Row);
    }

    [Fact]
    public void A_run_that_the_capture_found_spoilt_or_the_user_marks_so_opens_its_row_again_and_all_done_is_complete()
    {
        using PlanFollower plan = Follow();
        string Spin(int number, string? spoilt = null)
        {
            RunBegan began = plan.Begin(Journal, number, number);
            plan.End(Journal, number);
            string folder = Save(number, began, spoilt);
            plan.Save(Journal, number, folder);
            return folder;
        }

        Spin(1, "the marks ceased at 900 rpm");
        Becomes(plan, "next row 1 of 3 (block 1): cover=ring, again (the marks ceased at 900 rpm)");
        Spin(2);
        Becomes(plan, "next row 2 of 3 (block 1): cover=none");
        string second = Spin(3);
        Becomes(plan, "next row 3 of 3 (block 2): cover=ring");
        RunEditor.Change(second, new RunChanges { Spoilt = "knocked" }, SampleRuns.Start);
        Becomes(plan, "next row 2 of 3 (block 1): cover=none, again (knocked)");
        RunEditor.Change(second, new RunChanges { Spoilt = "", Texts = new Dictionary<string, string> { ["cover"] = "jar" } }, SampleRuns.Start);
        Becomes(plan, "next row 2 of 3 (block 1): cover=none, again (another set-up: cover jar instead of none)");
        string third = Spin(4);
        Becomes(plan, "next row 3 of 3 (block 2): cover=ring");
        RunTrash.Delete(third, SampleRuns.Start);
        Becomes(plan, "next row 2 of 3 (block 1): cover=none, again (another set-up: cover jar instead of none)");
        Spin(5);
        Becomes(plan, "next row 3 of 3 (block 2): cover=ring");
        Assert.False(plan.Live.IsComplete);
        Spin(6);
        Becomes(plan, "every row has its run");
        Assert.True(plan.Live.IsComplete);
        Assert.True(SpinWait.SpinUntil(() => { lock (_log.Lines) return _log.Lines[^1].EndsWith("all 3 rows have their run", StringComparison.Ordinal); }, 10_000));
        Assert.Null(plan.Begin(Journal, 7, 0).Plan);
        plan.Dispose();
        Assert.Equal("Information Plan P, 0 of 3 done: next row 1 of 3 (block 1): cover=ring", _log.Lines[0]);
        Assert.Equal("Information Plan P: all 3 rows have their run", _log.Lines[^2]);
        Assert.StartsWith("Warning Plan P: every row is done or being saved", _log.Lines[^1]);
    }

    [Fact]
    public void A_capture_that_begins_anew_goes_on_where_the_library_says()
    {
        string first;
        using (PlanFollower plan = Follow()) first = Save(1, plan.Begin(Journal, 1, 0));
        using (PlanFollower plan = Follow()) Assert.Equal("next row 2 of 3 (block 1): cover=none", plan.Live.Words);
        RunEditor.Change(first, new RunChanges { Spoilt = "knocked" }, SampleRuns.Start);
        using (PlanFollower plan = Follow()) Assert.Equal("next row 1 of 3 (block 1): cover=ring, again (knocked)", plan.Live.Words);
    }
}
