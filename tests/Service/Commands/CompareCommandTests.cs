using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class CompareCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string[] Library(string? environmentOfBare = null, string? environmentOfRing = null)
    {
        double[] scatter = [0.995, 1.004, 1.008, 0.993];
        return
        [
            .. scatter.Select((s, i) => TopRuns.Write(_bench.Library, 2 * i, s, "none", environment: environmentOfBare)),
            .. scatter.Select((s, i) => TopRuns.Write(_bench.Library, (2 * i) + 1, 1.1 * s * (1 + (0.001 * i)), "ring", 6, environmentOfRing)),
        ];
    }

    private JsonElement Json(params string[] args)
    {
        Assert.True(_bench.Run([.. args, "--json"]) == 0, _bench.Error);
        return JsonDocument.Parse(_bench.Out).RootElement;
    }

    [Fact]
    public void The_json_has_the_keys_of_the_contract_and_the_change_that_was_put_in()
    {
        Library();
        JsonElement answer = Json("compare", "--baseline", "cover=none", "--variant", "cover=ring");
        Assert.Equal((2000, 500, 4), (answer.GetProperty("fromRpm").GetDouble(), answer.GetProperty("toRpm").GetDouble(), answer.GetProperty("baselineRuns").GetInt32()));
        JsonElement variant = Assert.Single(answer.GetProperty("variants").EnumerateArray());
        Assert.Equal(("cover=ring", 4), (variant.GetProperty("name").GetString(), variant.GetProperty("runs").GetInt32()));
        Assert.Equal(10.2, variant.GetProperty("changePercent").GetDouble(), 0.1);
        Assert.InRange(10.0, variant.GetProperty("lowPercent").GetDouble(), variant.GetProperty("highPercent").GetDouble());
        Assert.True(variant.GetProperty("pValue").GetDouble() < 0.001);
        Assert.Equal(2.0 / 70, variant.GetProperty("pPermutation").GetDouble(), 1e-9);
        JsonElement[] bands = [.. variant.GetProperty("bands").EnumerateArray()];
        Assert.Equal([2000.0, 1750, 1500, 1250, 1000, 750], bands.Select(b => b.GetProperty("fromRpm").GetDouble()));
        Assert.All(bands, b => Assert.Equal(10.2, b.GetProperty("changePercent").GetDouble(), 0.2));
        JsonElement whole = variant.GetProperty("wholeSpin");
        Assert.InRange(whole.GetProperty("startRpm").GetDouble(), 2290, 2301);
        Assert.InRange(10.0, whole.GetProperty("lowPercent").GetDouble(), whole.GetProperty("highPercent").GetDouble());
        Assert.Empty(variant.GetProperty("warnings").EnumerateArray());
        Assert.False(answer.GetProperty("inReferenceAir").GetBoolean());
    }

    [Fact]
    public void For_people_the_verdict_comes_first_and_picture_and_page_are_written()
    {
        Library();
        string plot = Path.Combine(_bench.Current, "a.svg");
        string page = Path.Combine(_bench.Current, "a.html");
        Assert.Equal(0, _bench.Run("compare", "--baseline", "cover=none", "--variant", "cover=ring", "--plot", plot, "--report", page));
        string[] lines = _bench.Out.Split('\n');
        Assert.Equal("Decay time from 2000 to 500 rpm, beside cover=none (4 runs)", lines[0]);
        Assert.StartsWith("cover=ring helps: +10.", lines[2]);
        Assert.Contains("shown in every band", lines[2], StringComparison.Ordinal);
        Assert.Equal([plot, page], lines.Where(l => l.StartsWith(_bench.Current, StringComparison.Ordinal)));
        Assert.Contains("<svg", File.ReadAllText(plot), StringComparison.Ordinal);
        Assert.Contains("cover=ring helps", File.ReadAllText(page), StringComparison.Ordinal);
    }

    [Fact]
    public void No_change_is_told_as_not_shown_with_what_could_not_have_been_seen()
    {
        string[] runs = Library();
        Assert.Equal(0, _bench.Run("compare", "--baseline", $"{runs[0]},{runs[2]}", "--variant", $"{runs[1]},{runs[3]}"));
        Assert.Contains("no difference shown between 2000 and 500 rpm: ", _bench.Out, StringComparison.Ordinal);
        Assert.Contains("would most likely have missed (80 % power)", _bench.Out, StringComparison.Ordinal);
    }

    [Fact]
    public void One_run_each_has_no_interval_unless_the_library_knows_how_runs_scatter()
    {
        string[] runs = Library();
        JsonElement known = Json("compare", "--baseline", runs[0], "--variant", runs[4]).GetProperty("variants")[0];
        Assert.Equal("repeatability of the library", known.GetProperty("basis").GetString());
        Assert.Equal(JsonValueKind.Number, known.GetProperty("lowPercent").ValueKind);
        using var other = new Bench();
        string a = TopRuns.Write(other.Library, 0, 1, "none");
        string b = TopRuns.Write(other.Library, 1, 1.1, "ring");
        Assert.Equal(0, other.Run("compare", "--baseline", a, "--variant", b));
        Assert.Contains("one run each: no repeatability known", other.Out, StringComparison.Ordinal);
        Assert.Contains("+10.0 %", other.Out, StringComparison.Ordinal);
    }

    // Of these runs friction and a viscous part take all the speed: air has no share in it, whatever its density.
    [Fact]
    public void Where_the_air_of_all_runs_is_known_they_are_brought_to_one_and_it_is_said_what_that_changed()
    {
        Library("0,20,1013.25,50", "0,20,700,50");
        JsonElement same = Json("compare", "--baseline", "cover=none", "--variant", "cover=ring");
        Assert.True(same.GetProperty("inReferenceAir").GetBoolean());
        JsonElement variant = same.GetProperty("variants")[0];
        Assert.Equal(variant.GetProperty("changeAsSpunPercent").GetDouble(), variant.GetProperty("changePercent").GetDouble(), 0.1);
    }

    [Fact]
    public void A_run_that_is_left_out_does_not_count()
    {
        string[] runs = Library();
        JsonElement answer = Json("compare", "--baseline", "cover=none", "--variant", "cover=ring", "--leave-out", runs[5]);
        Assert.Equal(3, answer.GetProperty("variants")[0].GetProperty("runs").GetInt32());
    }

    [Fact]
    public void A_run_that_is_marked_as_spoilt_is_left_out_and_named_unless_asked_for()
    {
        string[] runs = Library();
        using (var edit = new Bench()) Assert.Equal(0, edit.Run("edit", runs[5], "--spoilt", "touched", "--library", _bench.Library));
        JsonElement answer = Json("compare", "--baseline", "cover=none", "--variant", "cover=ring");
        Assert.Equal(3, answer.GetProperty("variants")[0].GetProperty("runs").GetInt32());
        JsonElement left = Assert.Single(answer.GetProperty("leftOut").EnumerateArray());
        Assert.Equal((runs[5], "it is marked as spoilt: touched"), (left.GetProperty("run").GetString(), left.GetProperty("why").GetString()));
        using var with = new Bench();
        Assert.Equal(0, with.Run("compare", "--baseline", "cover=none", "--variant", "cover=ring", "--with-spoilt", "--json", "--library", _bench.Library));
        Assert.Equal(4, JsonDocument.Parse(with.Out).RootElement.GetProperty("variants")[0].GetProperty("runs").GetInt32());
        using (var named = new Bench())
        {
            Assert.Equal(0, named.Run("compare", "--baseline", "cover=none", "--variant", $"{runs[4]},{runs[5]}", "--json", "--library", _bench.Library));
            Assert.Equal(2, JsonDocument.Parse(named.Out).RootElement.GetProperty("variants")[0].GetProperty("runs").GetInt32());
            Assert.Equal($"acquire compare: {runs[5]} is marked as spoilt (touched); it counts since it is named\n", named.Error);
        }

        using var all = new Bench();
        foreach (string run in runs[4..])
        {
            using var edit = new Bench();
            Assert.Equal(0, edit.Run("edit", run, "--spoilt", "touched", "--library", _bench.Library));
        }

        Assert.Equal(2, all.Run("compare", "--baseline", "cover=none", "--variant", "cover=ring", "--library", _bench.Library));
        Assert.Contains("--variant: all of the 4 runs are marked as spoilt; --with-spoilt counts them", all.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--baseline FILTER and at least one --variant FILTER are needed", "--baseline", "cover=none")]
    [InlineData("there is no 'colour'", "--baseline", "colour=red", "--variant", "cover=ring")]
    [InlineData("--variant: no run has cover=rimg; did you mean ring?", "--baseline", "cover=none", "--variant", "cover=rimg")]
    [InlineData("--variant: there is no run 'nothing'", "--baseline", "cover=none", "--variant", "nothing")]
    [InlineData("have 4 runs in common", "--baseline", "cover=none", "--variant", "top=disc")]
    [InlineData("--variant: cover=ring is given twice", "--baseline", "cover=none", "--variant", "cover=ring", "--variant", "cover=ring")]
    [InlineData("--from must be above --to", "--baseline", "cover=none", "--variant", "cover=ring", "--from", "500", "--to", "2000")]
    [InlineData("--from: '2000rpm'; allowed is a number", "--baseline", "cover=none", "--variant", "cover=ring", "--from", "2000rpm")]
    [InlineData("--start: 400 rpm is not above --to 500", "--baseline", "cover=none", "--variant", "cover=ring", "--start", "400")]
    [InlineData("no run of the baseline cover=none can be timed from 5000 to 500 rpm", "--baseline", "cover=none", "--variant", "cover=ring", "--from", "5000")]
    [InlineData("All of them were seen between 2", "--baseline", "cover=none", "--variant", "cover=ring", "--from", "5000")]
    [InlineData("--leave-out: no run 'x' is among those chosen", "--baseline", "cover=none", "--variant", "cover=ring", "--leave-out", "x")]
    [InlineData("allowed is a file that ends in .png or .svg", "--baseline", "cover=none", "--variant", "cover=ring", "--plot", "a.pdf")]
    public void A_wrong_call_says_what_is_wrong_and_what_is_allowed(string said, params string[] args)
    {
        Library();
        Assert.Equal(2, _bench.Run(["compare", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire compare --help.", _bench.Error, StringComparison.Ordinal);
        Assert.Empty(_bench.Out);
    }
}
