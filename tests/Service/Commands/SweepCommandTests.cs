using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class SweepCommandTests : IDisposable
{
    private static readonly double[] Clearances = [2, 4, 6, 9, 14];
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private void Library()
    {
        double[] scatter = [0.996, 1.005, 1.001];
        for (int i = 0; i < scatter.Length; i++)
        {
            for (int j = 0; j < Clearances.Length; j++)
            {
                double clearance = Clearances[(j + (2 * i)) % Clearances.Length];
                TopRuns.Write(_bench.Library, (5 * i) + j, scatter[(i + j) % 3] * Math.Exp(-0.003 * Math.Pow(clearance - 7, 2)), "ring", clearance);
            }

            TopRuns.Write(_bench.Library, 20 + i, 0.9 * scatter[i], "none");
        }
    }

    [Fact]
    public void The_json_has_the_keys_of_the_contract_and_the_best_that_was_put_in()
    {
        Library();
        Assert.Equal(0, _bench.Run("sweep", "--factor", "clearance_mm", "--json"));
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.Equal("clearance_mm", answer.GetProperty("factor").GetString());
        JsonElement curve = Assert.Single(answer.GetProperty("curves").EnumerateArray());
        Assert.Equal(7, curve.GetProperty("best").GetDouble(), 0.4);
        Assert.InRange(7.0, curve.GetProperty("bestLow").GetDouble(), curve.GetProperty("bestHigh").GetDouble());
        Assert.Contains(6.0, curve.GetProperty("ties").EnumerateArray().Select(t => t.GetDouble()));
        Assert.DoesNotContain(14.0, curve.GetProperty("ties").EnumerateArray().Select(t => t.GetDouble()));
        JsonElement[] levels = [.. curve.GetProperty("levels").EnumerateArray()];
        Assert.Equal(Clearances, levels.Select(l => l.GetProperty("value").GetDouble()));
        Assert.All(levels, l => Assert.Equal(3, l.GetProperty("runs").GetInt32()));
        Assert.All(levels, l => Assert.InRange(l.GetProperty("meanS").GetDouble(), l.GetProperty("lowS").GetDouble(), l.GetProperty("highS").GetDouble()));
    }

    [Fact]
    public void For_people_the_best_comes_first_with_the_gain_over_a_baseline_and_a_picture()
    {
        Library();
        string plot = Path.Combine(_bench.Current, "a.png");
        string page = Path.Combine(_bench.Current, "a.html");
        Assert.True(_bench.Run("sweep", "--factor", "Clearance_MM", "--by", "cover", "--baseline", "cover=none", "--plot", plot, "--report", page) == 0, _bench.Error);
        string[] lines = _bench.Out.Split('\n');
        Assert.Equal("Decay time from 2000 to 500 rpm against clearance_mm by cover, gain over cover=none", lines[0]);
        Assert.StartsWith("cover ring: best at clearance_mm ", lines[2]);
        Assert.Contains("gain/%", lines[4], StringComparison.Ordinal);
        Assert.True(new FileInfo(plot).Length > 10_000);
        Assert.Contains("best at clearance_mm", File.ReadAllText(page), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--factor NAME is needed")]
    [InlineData("there is no factor 'clearence_mm'; did you mean clearance_mm?", "--factor", "clearence_mm")]
    [InlineData("--by: there is no 'colour'", "--factor", "clearance_mm", "--by", "colour")]
    [InlineData("is the factor itself", "--factor", "clearance_mm", "--by", "clearance_mm")]
    [InlineData("runs of two values of clearance_mm or more are needed", "--factor", "clearance_mm", "--where", "clearance_mm=6")]
    [InlineData("can be timed from 4000 to 500 rpm", "--factor", "clearance_mm", "--from", "4000")]
    [InlineData("--baseline: no run has cover=nine; did you mean none?", "--factor", "clearance_mm", "--baseline", "cover=nine")]
    [InlineData("--to: '0'; allowed is a number", "--factor", "clearance_mm", "--to", "0")]
    [InlineData("--leave-out: no run 'y' is among those chosen", "--factor", "clearance_mm", "--leave-out", "y")]
    public void A_wrong_call_says_what_is_wrong_and_what_is_allowed(string said, params string[] args)
    {
        Library();
        Assert.Equal(2, _bench.Run(["sweep", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire sweep --help.", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void A_run_that_is_marked_as_spoilt_is_left_out_and_named()
    {
        Library();
        string spoilt = TopRuns.Write(_bench.Library, 90, 3, "ring", 4);
        using (var edit = new Bench()) Assert.Equal(0, edit.Run("edit", spoilt, "--spoilt", "touched", "--library", _bench.Library));
        Assert.Equal(0, _bench.Run("sweep", "--factor", "clearance_mm", "--json"));
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.Equal(7, answer.GetProperty("curves")[0].GetProperty("best").GetDouble(), 0.4);
        JsonElement left = Assert.Single(answer.GetProperty("leftOut").EnumerateArray());
        Assert.Equal((spoilt, "it is marked as spoilt: touched"), (left.GetProperty("run").GetString(), left.GetProperty("why").GetString()));
    }

    [Fact]
    public void Where_no_run_has_a_factor_it_says_how_to_give_one()
    {
        TopRuns.Write(_bench.Library, 0, 1, "none");
        Assert.Equal(2, _bench.Run("sweep", "--factor", "rim_mass_g"));
        Assert.Contains("none of the 1 runs has a numeric factor; acquire edit RUN --factor rim_mass_g=4 gives it one", _bench.Error, StringComparison.Ordinal);
    }
}
