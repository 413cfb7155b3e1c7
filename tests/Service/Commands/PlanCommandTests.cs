using System.Text.Json;
using Acquire.Recording;
using Acquire.Results.Statistics;

namespace Acquire.Service.Tests.Commands;

public sealed class PlanCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private static JsonElement Json(Bench bench, params string[] args)
    {
        Assert.True(bench.Run([.. args, "--json"]) == 0, bench.Error);
        return JsonDocument.Parse(bench.Out).RootElement;
    }

    private void Library()
    {
        double[] scatter = [0.985, 1.004, 1.012, 0.993];
        for (int i = 0; i < scatter.Length; i++)
        {
            TopRuns.Write(_bench.Library, 2 * i, scatter[i], "none");
            TopRuns.Write(_bench.Library, (2 * i) + 1, 1.1 * scatter[^(i + 1)], "ring", 6);
        }
    }

    private string Plan => Path.Combine(_bench.Current, "plan.csv");

    [Fact]
    public void Every_combination_and_what_is_named_beside_them_stands_once_in_each_block()
    {
        JsonElement answer = Json(_bench, "plan", "--factor", "clearance_mm=4,6.0", "--factor", "base=glass,steel", "--also", "cover=none", "--repeats", "3", "--seed", "7");
        Assert.Equal((7, 5, 3, 3), (answer.GetProperty("seed").GetInt32(), answer.GetProperty("setups").GetInt32(), answer.GetProperty("repeats").GetInt32(), answer.GetProperty("blocks").GetInt32()));
        string[] lines = File.ReadAllLines(Plan);
        Assert.Equal("plan,row,block,factors.clearance_mm,base,cover", lines[0]);
        Assert.Equal(15, lines.Length - 1);
        string[] setups = [",,none", "4,glass,", "4,steel,", "6,glass,", "6,steel,"];
        foreach (string[] block in lines.Skip(1).Chunk(5)) Assert.Equal(setups, block.Select(l => string.Join(',', l.Split(',')[3..])).Order(StringComparer.Ordinal));
        Assert.All(lines.Skip(1), l => Assert.EndsWith("-seed-7", l.Split(',')[0]));
        Assert.Equal(lines.Skip(1).Select(l => l.Split(',')[1]), Enumerable.Range(1, 15).Select(i => $"{i}"));
    }

    [Fact]
    public void The_repeats_of_a_difference_are_by_the_librarys_own_scatter_and_it_is_said_what_they_rest_on()
    {
        Library();
        JsonElement answer = Json(_bench, "plan", "--factor", "cover=none,ring", "--detect", "3%");
        JsonElement scatter = answer.GetProperty("scatter");
        Assert.Equal(("library", 6), (scatter.GetProperty("from").GetString(), scatter.GetProperty("degreesOfFreedom").GetInt32()));
        double[] logs = [.. new[] { 0.985, 1.004, 1.012, 0.993 }.Select(s => Math.Log(s))];
        Assert.Equal(100 * Sample.Of(logs).Sd, scatter.GetProperty("percent").GetDouble(), 0.02);
        JsonElement detect = answer.GetProperty("detect");
        int exact = detect.GetProperty("repeatsIfScatterIsExact").GetInt32();
        Assert.Equal(Power.RunsNeeded(Math.Log(1.03), Sample.Of(logs).Sd), detect.GetProperty("repeatsByStudent").GetInt32());
        Assert.InRange(exact - detect.GetProperty("repeatsByStudent").GetInt32(), 0, 2);
        Assert.InRange(answer.GetProperty("repeats").GetInt32(), exact, detect.GetProperty("highRepeats").GetInt32());
        Assert.Equal(2 * answer.GetProperty("repeats").GetInt32(), File.ReadAllLines(Plan).Length - 1);
    }

    [Fact]
    public void Where_the_library_says_nothing_the_scatter_is_given_or_asked_for()
    {
        Assert.Equal(2, _bench.Run("plan", "--factor", "cover=none,ring", "--detect", "1"));
        Assert.Contains("the library has no two runs of one set-up that were both seen from 2000 to 500 rpm", _bench.Error, StringComparison.Ordinal);
        Assert.Contains("or give --scatter PERCENT", _bench.Error, StringComparison.Ordinal);
        using var other = new Bench();
        JsonElement answer = Json(other, "plan", "--factor", "cover=none,ring", "--detect", "1", "--scatter", "1.25%", "--power", "95 %", "--alpha", "1");

        // Welch's test needs as many here. R: power.t.test(delta = log(1.01), sd = 0.0125, sig.level = 0.01, power = 0.95, strict = TRUE)$n is 57.909… (R 4.2.2).
        Assert.Equal(58, answer.GetProperty("repeats").GetInt32());
    }

    [Fact]
    public void Repeats_that_are_given_are_told_what_they_can_show()
    {
        Library();
        Assert.True(_bench.Run("plan", "--factor", "cover=none,ring", "--repeats", "4", "--from", "1800", "--to", "600") == 0, _bench.Error);
        Assert.Contains("Runs of one set-up scatter by 1.2 % from 1800 to 600 rpm: the library's 8 runs of 2 set-ups", _bench.Out, StringComparison.Ordinal);
        Assert.Contains("So many repeats find a difference of 3.0 % between two set-ups with a probability of 80 % (5 % level)", _bench.Out, StringComparison.Ordinal);
        Assert.EndsWith(Plan + "\n", _bench.Out);
        Assert.Equal("plan,row,block,cover,from_rpm,to_rpm", File.ReadLines(Plan).First());
    }

    [Fact]
    public void A_sheet_that_is_there_is_written_over_only_when_asked()
    {
        File.WriteAllText(Plan, "mine");
        Assert.Equal(2, _bench.Run("plan", "--factor", "cover=none,ring", "--repeats", "2"));
        Assert.Contains("is there already; allowed is another name, or --overwrite", _bench.Error, StringComparison.Ordinal);
        Assert.Equal("mine", File.ReadAllText(Plan));
        Assert.Equal(0, _bench.Run("plan", "--factor", "cover=none,ring", "--repeats", "2", "--overwrite"));
        Assert.StartsWith("plan,row", File.ReadAllText(Plan));
    }

    [Fact]
    public void The_status_tells_what_is_done_what_was_spoilt_and_what_is_next()
    {
        File.WriteAllText(Plan, "plan,row,block,cover\nP,1,1,ring\nP,2,1,none\nP,3,2,none\n");
        void Run(int hour, int row, string cover, string? spoilt = null)
        {
            FinishedRun usual = SampleRuns.Make(start: SampleRuns.Start.AddHours(hour));
            SampleRuns.Write(_bench.Library, new FinishedRun
            {
                Descriptor = usual.Descriptor with { Setup = usual.Descriptor.Setup with { Cover = cover }, Plan = new RunPlan("P", row, 1), Spoilt = spoilt },
                Pulses = usual.Pulses,
                SecondsPerTick = usual.SecondsPerTick,
                Speed = usual.Speed,
                Events = usual.Events,
            });
        }

        Run(0, 1, "ring", "the hand slipped");
        Run(1, 1, "ring");
        Run(2, 2, "jar");
        TopRuns.Write(_bench.Library, 5, 1, "none");
        JsonElement answer = Json(_bench, "plan", "plan.csv");
        Assert.Equal((3, 1, 2), (answer.GetProperty("runs").GetInt32(), answer.GetProperty("done").GetInt32(), answer.GetProperty("next").GetInt32()));
        JsonElement[] rows = [.. answer.GetProperty("rows").EnumerateArray()];
        Assert.Equal("20270314T102653Z-oak-rim", rows[0].GetProperty("run").GetString());
        Assert.Equal("the hand slipped", rows[0].GetProperty("spoilt")[0].GetProperty("why").GetString());
        Assert.Equal("another set-up: cover jar instead of none", rows[1].GetProperty("spoilt")[0].GetProperty("why").GetString());

        using var people = new Bench();
        Assert.Equal(0, people.Run("plan", Plan, "--library", _bench.Library));
        Assert.StartsWith("Plan P: 1 of 3 runs done\nNext: row 2 of 3 (block 1): cover=none, again: another set-up: cover jar instead of none\n", people.Out);

        // Marked as good again the first run of row 1 is one more that counts; the set-up put right, row 2 is done.
        using var edits = new Bench();
        Assert.Equal(0, edits.Run("edit", "20270314T112653Z-oak-rim", "--cover", "none", "--library", _bench.Library));
        using var after = new Bench();
        Assert.Equal(3, Json(after, "plan", Plan, "--library", _bench.Library).GetProperty("next").GetInt32());
        Assert.Empty(RunVerifier.VerifyLibrary(_bench.Library));
    }

    [Theory]
    [InlineData("--factor name=v1,v2,… makes a plan; a plan's FILE alone tells what of it is done")]
    [InlineData("--repeats is for a plan to be made, which needs --factor", "plan.csv", "--repeats", "2")]
    [InlineData("how often? --repeats N, or --detect PERCENT", "--factor", "cover=a,b")]
    [InlineData("--repeats and --detect are given at once", "--factor", "cover=a,b", "--repeats", "2", "--detect", "1%")]
    [InlineData("--factor: 'cover' on the command line; allowed is name=value", "--factor", "cover", "--repeats", "2")]
    [InlineData("--factor: 'six' in 'd_mm=4,six'; allowed is a number", "--factor", "d_mm=4,six", "--repeats", "2")]
    [InlineData("--factor: 'note=1'; allowed is a name of letters", "--factor", "note=1", "--repeats", "2")]
    [InlineData("has 4 twice; allowed is each value once", "--factor", "d_mm=4,4.0", "--repeats", "2")]
    [InlineData("--factor: 'cover' is given twice", "--factor", "cover=a", "--factor", "Cover=b", "--repeats", "2")]
    [InlineData("--also: the set-up cover=a is there already", "--factor", "cover=a,b", "--also", "cover=a", "--repeats", "2")]
    [InlineData("--repeats: '2.5' on the command line; allowed is a whole number", "--factor", "cover=a,b", "--repeats", "2.5")]
    [InlineData("--repeats: '0' on the command line; allowed is a number from 1 to 1000", "--factor", "cover=a,b", "--repeats", "0")]
    [InlineData("--detect: 'much' on the command line; allowed is a number of percent", "--factor", "cover=a,b", "--detect", "much")]
    [InlineData("would take more than 1000 repeats", "--factor", "cover=a,b", "--detect", "0.1", "--scatter", "5")]
    [InlineData("allowed are 10000", "--factor", "a=1,2,3,4,5,6,7,8,9,10,11", "--repeats", "1000")]
    [InlineData("there is no folder '", "none/plan.csv", "--factor", "cover=a,b", "--repeats", "2")]
    [InlineData("there is no file '", "other.csv")]
    [InlineData("--library: there is no folder", "--factor", "cover=a,b", "--repeats", "2", "--library", "nowhere")]
    public void A_wrong_call_says_what_is_wrong_and_writes_nothing(string said, params string[] args)
    {
        Assert.Equal(2, _bench.Run(["plan", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire plan --help.", _bench.Error, StringComparison.Ordinal);
        Assert.Empty(_bench.Out);
        Assert.False(File.Exists(Plan));
    }
}
