using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

public sealed class RunsCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void The_list_is_by_start_and_its_json_has_exactly_these_keys()
    {
        SampleRuns.Write(_bench.Library, SampleRuns.Make("Größe \"A\"", 200, SampleRuns.Start.AddHours(1), factors: new Dictionary<string, double>()));
        SampleRuns.Write(_bench.Library, SampleRuns.Make());

        Assert.Equal(0, _bench.Run("runs", "--json"));
        double spinTimeS = SampleRuns.Make().Descriptor.Result.SpinTimeS;
        double laterSpinTimeS = SampleRuns.Make(peakRpm: 200).Descriptor.Result.SpinTimeS;
        Assert.Equal(
            $$"""
            {
              "runs": [
                {
                  "run": "20270314T092653Z-oak-rim",
                  "startedAt": "2027-03-14T09:26:53.412Z",
                  "top": "oak rim",
                  "base": "glass",
                  "cover": "jar",
                  "factors": {
                    "dish_radius_mm": 80
                  },
                  "spinTimeS": {{spinTimeS}},
                  "peakRpm": 300,
                  "endReason": "stopped"
                },
                {
                  "run": "20270314T102653Z-groesse-a",
                  "startedAt": "2027-03-14T10:26:53.412Z",
                  "top": "Größe \"A\"",
                  "base": "glass",
                  "cover": "jar",
                  "factors": {},
                  "spinTimeS": {{laterSpinTimeS}},
                  "peakRpm": 200,
                  "endReason": "stopped"
                }
              ]
            }

            """,
            _bench.Out);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void Where_there_is_no_terminal_the_table_is_plain_columns_however_wide()
    {
        SampleRuns.Write(_bench.Library, SampleRuns.Make(new string('x', 90)));
        SampleRuns.Write(_bench.Library, SampleRuns.Make("", start: SampleRuns.Start.AddDays(1), endReason: EndReasons.Operator));

        Assert.Equal(0, _bench.Run("runs"));

        string[] lines = _bench.Out.TrimEnd('\n').Split('\n');
        Assert.Equal(3, lines.Length);
        Assert.DoesNotContain('\u001b', _bench.Out);
        string[][] cells = [.. lines.Select(l => l.Split("  ", StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))];
        Assert.Equal(["run", "started (UTC)", "top", "base", "cover", "factors", "spin time", "peak/rpm", "end"], cells[0]);
        Assert.Equal("2027-03-14 09:26:53", cells[1][1]);
        Assert.Equal(new string('x', 90), cells[1][2]);
        Assert.Equal(["20270315T092653Z-run", "2027-03-15 09:26:53", "-", "glass", "jar", "dish_radius_mm=80", "0:24:14.7", "300.00", "operator"], cells[2]);
    }

    [Fact]
    public void A_run_that_cannot_be_read_is_named_on_standard_error_and_the_others_are_listed()
    {
        SampleRuns.Write(_bench.Library, SampleRuns.Make());
        string broken = SampleRuns.Write(_bench.Library, SampleRuns.Make(start: SampleRuns.Start.AddDays(1)));
        File.WriteAllText(Path.Combine(_bench.Library, broken, "datapackage.json"), "{");

        Assert.Equal(0, _bench.Run("runs", "--json"));

        Assert.Contains("20270314T092653Z-oak-rim", _bench.Out);
        Assert.DoesNotContain(broken, _bench.Out);
        Assert.StartsWith($"acquire runs: {broken} cannot be read: ", _bench.Error);
        Assert.Contains("datapackage.json, line 1", _bench.Error);
    }

    [Fact]
    public void A_run_without_a_release_has_no_spin_time()
    {
        FinishedRun run = SampleRuns.Make();
        FinishedRun without = new()
        {
            Descriptor = run.Descriptor with { Result = run.Descriptor.Result with { SpinTimeS = double.NaN, ReleaseS = double.NaN } },
            Pulses = run.Pulses,
            SecondsPerTick = run.SecondsPerTick,
            Speed = run.Speed,
            Events = run.Events,
        };
        SampleRuns.Write(_bench.Library, without);
        Assert.Equal(0, _bench.Run("runs", "--json"));
        Assert.Contains("\"spinTimeS\": null", _bench.Out);
    }

    [Fact]
    public void A_library_that_is_not_there_yet_has_no_runs_but_one_that_was_named_is_an_error()
    {
        Assert.Equal(0, _bench.Run("runs", "--json"));
        Assert.Equal("{\n  \"runs\": []\n}\n", _bench.Out);
        Assert.Equal(2, _bench.Run("runs", "--library", "spins"));
        Assert.Contains($"acquire runs: --library: there is no folder '{_bench.Current}/spins'", _bench.Error);
    }

    [Fact]
    public void The_library_comes_from_the_option_else_the_environment_else_the_settings_file()
    {
        foreach (string name in new[] { "a", "b", "c" }) SampleRuns.Write(Path.Combine(_bench.Current, name), SampleRuns.Make("top " + name));
        File.WriteAllText(Path.Combine(_bench.Current, "appsettings.json"), """{"Capture":{"Library":"a"}}""");
        _bench.Run("runs", "--json");
        Assert.Contains("top a", _bench.Out);
        _bench.Environment["ACQUIRE_LIBRARY"] = "b";
        _bench.Run("runs", "--json");
        Assert.Contains("top b", _bench.Out);
        _bench.Run("runs", "--json", "--library", "c");
        Assert.Contains("top c", _bench.Out);
    }
}
