using System.Diagnostics;
using System.Globalization;
using Acquire.Recording;
using DuckDB.NET.Data;

namespace Acquire.Service.Tests.Export;

/// <summary>The runs are released at 2 s of their own time and slow from 300 rpm as <see cref="SampleRuns"/> has it.</summary>
public sealed class ExportCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Write((double FromS, double ToS)? gap = null, string endReason = EndReasons.Stopped) =>
        SampleRuns.Write(_bench.Library, SampleRuns.Make(gap: gap, endReason: endReason));

    private string Exported(string name) => File.ReadAllText(Path.Combine(_bench.Current, name));

    [Fact]
    public void The_table_counts_from_the_release_and_is_empty_where_the_signal_was_lost()
    {
        string run = Write(gap: (100, 120));
        Assert.True(_bench.Run("export", run, "--to", "csv") == 0, _bench.Error);
        Assert.Equal(Path.Combine(_bench.Current, run + ".csv") + "\n", _bench.Out);
        string[] lines = Exported(run + ".csv").TrimEnd('\n').Split('\n');
        Assert.Equal("time_since_release_s,speed_rpm,u_speed_rpm,deceleration_rpm_per_s,u_deceleration_rpm_per_s", lines[0]);
        string[][] rows = [.. lines.Skip(1).Select(l => l.Split(','))];
        IReadOnlyList<Acquire.Motion.SpeedPoint> speed = RunPackageReader.ReadSpeed(Path.Combine(_bench.Library, run));
        Assert.Equal(speed.Count, rows.Length);
        Assert.Equal("-2", rows[0][0]);
        Assert.Equal(["98", "", "", "", ""], rows[100]);
        Assert.Equal(speed[1000].Rpm, double.Parse(rows[1000][1], CultureInfo.InvariantCulture), 1e-6);
        Assert.Equal(speed[1000].UDecelRpmPerS, double.Parse(rows[1000][4], CultureInfo.InvariantCulture), 1e-8);
    }

    [Fact]
    public void A_part_of_the_table_goes_to_standard_output()
    {
        string run = Write();
        Assert.Equal(0, _bench.Run("export", run, "--to", "csv", "--from", "10", "--until", "14", "--output", "-"));
        Assert.Equal(["10", "11", "12", "13", "14"], _bench.Out.TrimEnd('\n').Split('\n').Skip(1).Select(l => l.Split(',')[0]));
    }

    [Fact]
    public void DuckDB_reads_the_tables_with_their_units()
    {
        string run = Write(gap: (100, 120));
        Assert.True(_bench.Run("export", run, "--to", "parquet", "--output", "spin.parquet") == 0, _bench.Error);
        (string speedFile, string pulsesFile) = (Path.Combine(_bench.Current, "spin-speed.parquet"), Path.Combine(_bench.Current, "spin-pulses.parquet"));
        Assert.Equal($"{speedFile}\n{pulsesFile}\n", _bench.Out);
        string folder = Path.Combine(_bench.Library, run);
        IReadOnlyList<Acquire.Motion.SpeedPoint> speed = RunPackageReader.ReadSpeed(folder);
        RunPulses pulses = RunPackageReader.ReadPulses(folder);
        using var duck = new DuckDBConnection("DataSource=:memory:");
        duck.Open();
        Assert.Equal(speed.Count, Ask<long>(duck, $"SELECT count(*) FROM '{speedFile}'"));
        Assert.Equal(21, Ask<long>(duck, $"SELECT count(*) FROM '{speedFile}' WHERE rpm IS NULL AND u_rpm IS NULL AND decel_rpm_s IS NULL"));
        Assert.Equal(speed.Where(p => double.IsFinite(p.Rpm)).Sum(p => p.Rpm), Ask<double>(duck, $"SELECT sum(rpm) FROM '{speedFile}'"), 1e-6);
        Assert.Equal(speed[500].DecelRpmPerS, Ask<double>(duck, $"SELECT decel_rpm_s FROM '{speedFile}' WHERE time_s = 500"));
        Assert.Equal("1/min", Value(duck, speedFile, "unit.rpm"));
        Assert.Equal("1/(min s)", Value(duck, speedFile, "unit.decel_rpm_s"));
        Assert.Equal("s", Value(duck, pulsesFile, "unit.width_s"));
        Assert.Contains("\"peakRpm\"", Value(duck, speedFile, "acquire"), StringComparison.Ordinal);
        Assert.Contains("\"1/min\"", Value(duck, speedFile, "tableSchema"), StringComparison.Ordinal);
        Assert.Equal(pulses.Count, Ask<long>(duck, $"SELECT count(*) FROM '{pulsesFile}'"));
        Assert.Equal(pulses.Ticks[30], Ask<long>(duck, $"SELECT ticks FROM '{pulsesFile}' ORDER BY time_s LIMIT 1 OFFSET 30"));
        Assert.Equal(1, Ask<long>(duck, $"SELECT count(*) FROM '{pulsesFile}' WHERE kind = 'extra' AND mark IS NULL"));
        Assert.Equal("BIGINT", Ask<string>(duck, $"SELECT typeof(ticks) FROM '{pulsesFile}' LIMIT 1"));
    }

    private static T Ask<T>(DuckDBConnection duck, string question)
    {
        using DuckDBCommand command = duck.CreateCommand();
        command.CommandText = question;
        return (T)command.ExecuteScalar()!;
    }

    private static string Value(DuckDBConnection duck, string file, string key) =>
        Ask<string>(duck, $"SELECT decode(value) FROM parquet_kv_metadata('{file}') WHERE decode(key) = '{key}'");

    [Fact]
    public void Captions_count_from_the_release_in_the_film_and_never_invent_a_speed()
    {
        string run = Write(gap: (100, 120));
        Assert.True(_bench.Run("export", run, "--to", "vtt", "--offset", "12.4") == 0, _bench.Error);
        List<VttFile.Cue> cues = VttFile.ReadVtt(Exported(run + ".vtt"));
        Assert.Equal(12.4, cues[0].FromS);
        Assert.Equal("0:00:00  300 rpm", cues[0].Text);
        VttFile.Cue[] lost = [.. cues.Where(c => c.Text.EndsWith("signal lost", StringComparison.Ordinal))];
        Assert.Equal(21, lost.Length);
        Assert.Equal("0:01:38  signal lost", lost[0].Text);
        Assert.Equal(12.4 + 98, lost[0].FromS, 1e-9);
        Assert.Contains("21 of ", _bench.Error, StringComparison.Ordinal);
        Assert.Equal("spin time 0:24:14.7 (standard uncertainty 0.40 s)", cues[^1].Text);
        Assert.Equal(12.4 + 1454.73, cues[^1].FromS, 0.01);
    }

    [Fact]
    public void Between_the_grid_captions_go_between_its_speeds_and_at_the_edge_of_a_gap_they_do_not()
    {
        string run = Write(gap: (100, 120));
        Assert.Equal(0, _bench.Run("export", run, "--to", "srt", "--interval", "0.5", "--from", "95", "--until", "100", "--output", "-"));
        List<VttFile.Cue> cues = VttFile.ReadSrt(_bench.Out);
        Assert.Equal(10, cues.Count);
        Assert.Equal(0.5, cues[1].ToS - cues[1].FromS, 1e-9);
        Assert.Equal("0:01:35.5", cues[1].Text.Split("  ")[0]);
        IReadOnlyList<Acquire.Motion.SpeedPoint> speed = RunPackageReader.ReadSpeed(Path.Combine(_bench.Library, run));
        Assert.Equal(0.5 * (speed[97].Rpm + speed[98].Rpm), double.Parse(cues[1].Text.Split("  ")[1].Split(' ')[0], CultureInfo.InvariantCulture), 0.51);
        Assert.Equal("0:01:37.5  signal lost", cues[5].Text);
    }

    [Fact]
    public void The_release_between_two_rows_keeps_its_peak_and_before_the_first_pulse_there_is_no_caption()
    {
        FinishedRun run = SampleRuns.Make();
        SpeedsMoved(run, 0.4, out FinishedRun moved);
        string name = SampleRuns.Write(_bench.Library, moved);
        Assert.Equal(0, _bench.Run("export", name, "--to", "vtt", "--from", "-5", "--until", "1", "--offset", "10", "--output", "-"));
        List<VttFile.Cue> cues = VttFile.ReadVtt(_bench.Out);
        Assert.Equal(["−0:00:01  150 rpm", "0:00:00  300 rpm"], cues.Select(c => c.Text));
        Assert.Equal(9, cues[0].FromS);
    }

    // The rows are shifted against the release, as a grid that knows nothing of it stands.
    private static void SpeedsMoved(FinishedRun run, double byS, out FinishedRun moved) => moved = new FinishedRun
    {
        Descriptor = run.Descriptor,
        Pulses = run.Pulses,
        SecondsPerTick = run.SecondsPerTick,
        Events = run.Events,
        Speed = [.. run.Speed.Select(p => p with { TimeS = p.TimeS + byS, Rpm = p.TimeS + byS < 2 ? 150 * (p.TimeS + byS) : p.Rpm - (p.DecelRpmPerS * byS) })],
    };

    [Fact]
    public void Captions_before_the_film_begins_are_left_out_and_counted()
    {
        string run = Write();
        Assert.Equal(0, _bench.Run("export", run, "--to", "vtt", "--from", "-2", "--until", "3", "--offset", "0.5", "--output", "-"));
        List<VttFile.Cue> cues = VttFile.ReadVtt(_bench.Out);
        Assert.Equal("−0:00:01  150 rpm", cues[0].Text);
        Assert.Equal((0.0, 0.5), (cues[0].FromS, cues[0].ToS));
        Assert.Contains("1 captions are left out", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void A_run_that_did_not_stop_by_itself_has_no_spin_time_in_its_captions()
    {
        string run = Write(endReason: EndReasons.Operator);
        Assert.Equal(0, _bench.Run("export", run, "--to", "vtt", "--output", "-"));
        Assert.DoesNotContain("spin time", _bench.Out, StringComparison.Ordinal);
        Assert.EndsWith("end of the record\n", _bench.Out, StringComparison.Ordinal);
    }

    [Fact]
    public void Ffmpeg_makes_of_each_kind_of_captions_the_other()
    {
        string run = Write(gap: (100, 120));
        Assert.Equal(0, _bench.Run("export", run, "--to", "vtt", "--output", "a.vtt"));
        Assert.Equal(0, _bench.Run("export", run, "--to", "srt", "--output", "a.srt"));
        Convert("a.vtt", "b.srt");
        Convert("a.srt", "b.vtt");
        List<VttFile.Cue> written = VttFile.ReadVtt(Exported("a.vtt"));
        Assert.Equal(written, VttFile.ReadSrt(Exported("b.srt").TrimEnd('\n') + "\n\n"));
        Assert.Equal(written, VttFile.ReadSrt(Exported("a.srt")));
        Assert.Equal(written.Count, Exported("b.vtt").Split(" --> ").Length - 1);
    }

    private void Convert(string from, string to)
    {
        var start = new ProcessStartInfo("/usr/bin/ffmpeg", ["-v", "error", "-y", "-i", from, to]) { WorkingDirectory = _bench.Current, RedirectStandardError = true };
        using Process ffmpeg = Process.Start(start)!;
        string said = ffmpeg.StandardError.ReadToEnd();
        ffmpeg.WaitForExit();
        Assert.True(ffmpeg.ExitCode == 0 && said.Length == 0, said);
    }

    [Theory]
    [InlineData("--to FORMAT is needed: csv, parquet, vtt, srt")]
    [InlineData("--to: 'xlsx'; allowed are csv, parquet, vtt, srt", "--to", "xlsx")]
    [InlineData("--interval and --offset are for captions", "--to", "csv", "--offset", "3")]
    [InlineData("--interval: '0' on the command line; allowed is a number from 0.04 to 3600 s", "--to", "vtt", "--interval", "0")]
    [InlineData("--from must be before --until", "--to", "vtt", "--from", "9", "--until", "9")]
    [InlineData("Parquet is two files", "--to", "parquet", "--output", "-")]
    [InlineData("there is no folder", "--to", "csv", "--output", "no/such/a.csv")]
    [InlineData("lies there: it goes from -2 to ", "--to", "csv", "--from", "9000")]
    public void A_wrong_call_says_what_is_wrong_and_what_is_allowed(string said, params string[] args)
    {
        Assert.Equal(2, _bench.Run(["export", Write(), .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire export --help.", _bench.Error, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFiles(_bench.Current));
    }

    [Fact]
    public void Nothing_is_written_into_a_runs_folder()
    {
        string run = Write();
        Assert.Equal(2, _bench.Run("export", run, "--to", "csv", "--output", Path.Combine(_bench.Library, run, "speed.csv")));
        Assert.Contains("which is kept as it was written", _bench.Error, StringComparison.Ordinal);
    }
}
