using System.Globalization;
using System.Text;
using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

public sealed class ImportCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Folder => _bench.Out.TrimEnd('\n').Split('\n')[^1];

    private string Write(string name, string text, Encoding? encoding = null)
    {
        string path = Path.Combine(_bench.Current, name);
        File.WriteAllText(path, text, encoding ?? new UTF8Encoding(false));
        return path;
    }

    private int Import(string file, params string[] more) => _bench.Run(["import", file, "--started", "2027-03-14T09:26:53Z", .. more]);

    // Launched in 2 s to 25 turns a second, which then fall by e in 60 s: the closed form gives the time of every mark.
    private static double[] Marks(double endS = 200)
    {
        const double Peak = 25;
        const double Tau = 60;
        double byHand = Peak * 2 / 2;
        return [.. Enumerable.Range(1, 10_000)
            .Select(k => k <= byHand ? Math.Sqrt(2 * k * 2 / Peak) : 2 - (Tau * Math.Log(1 - ((k - byHand) / (Peak * Tau)))))
            .TakeWhile(t => t <= endS)];
    }

    private static string Column(IEnumerable<double> values, double unit = 1, string format = "F9") =>
        string.Concat(values.Select(v => (v * unit).ToString(format, CultureInfo.InvariantCulture) + "\n"));

    [Theory]
    [InlineData("s", 1.0)]
    [InlineData("ms", 1e3)]
    [InlineData("us", 1e6)]
    [InlineData("ns", 1e9)]
    public void Pulse_times_become_a_run_that_verifies(string unit, double perSecond)
    {
        double[] marks = Marks();
        Assert.Equal(0, Import(Write("p.csv", "t\n" + Column(marks, perSecond)), "--kind", "pulses", "--time-column", "t", "--unit", unit, "--top", "oak rim", "--factor", "d_mm=80"));
        Assert.EndsWith("20270314T092653Z-oak-rim", Folder);
        Assert.Empty(RunVerifier.Verify(Folder));
        RunDescriptor run = RunPackageReader.ReadDescriptor(Folder);
        Assert.Equal(("import", marks.Length, 0L), (run.Source.Kind, (int)run.Counts.Marks, run.Counts.BadLines));
        Assert.Equal(80, run.Setup.Factors["d_mm"]);
        Assert.Equal(1500, run.Result.PeakRpm, 0.05);
        Assert.Equal(100 / Math.Sqrt(3), run.Clock.URatePpm, 1e-9);
        foreach (SpeedPoint p in RunPackageReader.ReadSpeed(Folder).Where(p => p.TimeS is > 20 and < 150))
            Assert.Equal(1500 * Math.Exp(-(p.TimeS + marks[0] - 2) / 60), p.Rpm, 0.1);
    }

    // The sensor in the settings is read here and now: it is no air of the file's, and stands in nobody's way.
    [Theory]
    [InlineData("pulses")]
    [InlineData("speed")]
    public void The_air_may_be_entered_with_an_import(string kind)
    {
        File.WriteAllText(Path.Combine(_bench.Current, "appsettings.json"), """{"Capture":{"Air":"bme280@1:0x76"}}""");
        string file = kind == "pulses" ? Write("p.csv", "t\n" + Column(Marks()))
            : Write("v.csv", "t,v\n" + string.Concat(Enumerable.Range(0, 200).Select(i => FormattableString.Invariant($"{i},{2000 * Math.Exp(-i / 90.0):F3}\n"))));
        string[] columns = kind == "pulses" ? ["--time-column", "t"] : ["--time-column", "t", "--value-column", "v"];
        Assert.True(Import(file, ["--kind", kind, .. columns, "--temperature", "21.5", "--pressure", "1009"]) == 0, _bench.Error);
        Assert.Equal([new EnvironmentPoint(0, 21.5, 1009, double.NaN)], RunPackageReader.ReadEnvironment(Folder));
        Assert.Equal(new RunAir("by hand", 1, 0), RunPackageReader.ReadDescriptor(Folder).Air);
        Assert.Empty(RunVerifier.Verify(Folder));
        Assert.Equal(2, Import(file, ["--kind", kind, .. columns, "--pressure", "29.8"]));
        Assert.Contains("--pressure: '29.8' on the command line; allowed is a number from 300 to 1200", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Intervals_become_the_same_run_as_the_times_they_are_from()
    {
        double[] marks = Marks();
        Assert.Equal(0, Import(Write("p.csv", Column(marks)), "--kind", "pulses", "--time-column", "1", "--no-header"));
        string pulses = Folder;
        Assert.Equal(0, Import(Write("i.txt", Column(marks.Skip(1).Zip(marks, (b, a) => b - a), 1e3, "F8")), "--kind", "intervals", "--time-column", "1", "--no-header", "--unit", "ms"));
        Assert.NotEqual(pulses, Folder);
        double[] one = RunPackageReader.ReadPulses(pulses).TimeS;
        double[] other = RunPackageReader.ReadPulses(Folder).TimeS;
        Assert.Equal(one.Length, other.Length);
        Assert.All(one.Zip(other), p => Assert.Equal(p.First, p.Second, 1e-6));
        Assert.Contains("is it the same spin twice?", _bench.Error);
    }

    [Theory]
    [InlineData("rpm", 60.0)]
    [InlineData("rev/s", 1.0)]
    [InlineData("rad/s", 6.283185307179586)]
    [InlineData("deg/s", 360.0)]
    public void Speeds_become_a_run_without_pulses(string unit, double perTurn)
    {
        string rows = string.Concat(Enumerable.Range(0, 300).Select(t => string.Create(CultureInfo.InvariantCulture,
            $"{t},{perTurn * (t < 2 ? 12.5 * t : 25 * Math.Exp(-(t - 2) / 60.0)):R}\n")));
        Assert.Equal(0, Import(Write("s.csv", "Time,Speed\n" + rows), "--kind", "speed", "--time-column", "time", "--value-column", "speed", "--value-unit", unit));
        Assert.Empty(RunVerifier.Verify(Folder));
        RunDescriptor run = RunPackageReader.ReadDescriptor(Folder);
        Assert.Equal((0L, EndReasons.Stopped), (run.Counts.Received, run.EndReason));
        Assert.Contains("no pulses", run.Source.Detail);
        Assert.Equal(1500, run.Result.PeakRpm, 0.5);

        // The run begins with the first speed above 0, a second into the file.
        foreach (SpeedPoint p in RunPackageReader.ReadSpeed(Folder).Where(p => p.TimeS is > 2 and < 290))
            Assert.Equal(1500 * Math.Exp(-(p.TimeS - 1) / 60), p.Rpm, 0.1);
        Assert.Equal(0, _bench.Run("show", Folder, "--plot", Path.Combine(_bench.Current, "s.png")));
        Assert.True(new FileInfo(Path.Combine(_bench.Current, "s.png")).Length > 10_000);
    }

    [Fact]
    public void A_file_that_ends_at_speed_is_no_end_of_a_spin()
    {
        Assert.Equal(0, Import(Write("p.csv", Column(Marks(40))), "--kind", "pulses", "--time-column", "1", "--no-header"));
        Assert.Equal(EndReasons.SourceLost, RunPackageReader.ReadDescriptor(Folder).EndReason);
    }

    [Fact]
    public void Two_spins_in_one_file_are_two_runs()
    {
        double[] marks = Marks();
        Assert.Equal(0, Import(Write("p.csv", Column([.. marks, .. marks.Select(t => t + 1000)])), "--kind", "pulses", "--time-column", "1", "--no-header"));
        string[] folders = _bench.Out.TrimEnd('\n').Split('\n');
        Assert.Equal(2, folders.Length);
        Assert.Equal(1000, (RunPackageReader.ReadDescriptor(folders[1]).StartedAt - RunPackageReader.ReadDescriptor(folders[0]).StartedAt).TotalSeconds, 1e-3);
    }

    [Fact]
    public void Lines_that_are_left_out_are_told_and_counted()
    {
        List<string> lines = [.. Marks().Select(t => t.ToString("F6", CultureInfo.InvariantCulture))];
        lines[100] = "abc";
        lines[200] = "1.000000";
        lines[300] = lines[299];
        lines[400] = "99999.0";
        lines[500] = "# note\n" + lines[500] + "\n";
        Assert.Equal(0, Import(Write("p.csv", "t;x\n" + string.Concat(lines.Select(l => l + ";1\n"))), "--kind", "pulses", "--time-column", "t"));
        Assert.Contains("p.csv, line 102: found 'abc', expected a number; left out", _bench.Error);
        Assert.Contains("p.csv, line 202: found 1.000000, back from", _bench.Error);
        Assert.Contains($"p.csv, line 302: found {lines[299]}, the time of line 301 again", _bench.Error);
        Assert.Contains("p.csv, line 402: found 99999.0, ahead of the lines that follow", _bench.Error);
        Assert.Contains("2 without a number, 2 out of order, 1 with a time that was there already", _bench.Error);
        Assert.Equal(5, RunPackageReader.ReadDescriptor(Folder).Counts.BadLines);
    }

    [Fact]
    public void Only_the_first_ten_are_told_in_full()
    {
        Assert.Equal(0, Import(Write("p.csv", Column(Marks()).Replace("\n1", "\nx1", StringComparison.Ordinal)), "--kind", "pulses", "--time-column", "1", "--no-header"));
        Assert.Equal(10, _bench.Error.Split("; left out\n").Length - 1);
        Assert.Matches(@"\d{3} of \d{4} lines left out: \d{3} without a number", _bench.Error);
    }

    [Fact]
    public void With_strict_one_such_line_is_too_much()
    {
        Assert.Equal(2, Import(Write("p.csv", Column(Marks()) + "x\n"), "--kind", "pulses", "--time-column", "1", "--no-header", "--strict"));
        Assert.Contains("1 lines would be left out, and with --strict none may be", _bench.Error);
        Assert.False(Directory.Exists(_bench.Library));
    }

    [Theory]
    [InlineData("s", "did you mean --unit us")]
    [InlineData("ns", "did you mean --unit us")]
    public void A_wrong_unit_is_told_with_one_that_fits(string unit, string hint)
    {
        Assert.Equal(2, Import(Write("p.csv", Column(Marks(), 1e6, "F3")), "--kind", "pulses", "--time-column", "1", "--no-header", "--unit", unit));
        Assert.Contains(hint, _bench.Error);
        Assert.Equal("", _bench.Out);
    }

    [Fact]
    public void A_decimal_comma_is_told_and_can_be_read()
    {
        string file = Write("p.csv", "t;x\r\n" + Column(Marks()).Replace('.', ',').Replace("\n", ";1\r\n", StringComparison.Ordinal), new UTF8Encoding(true));
        Assert.Equal(2, Import(file, "--kind", "pulses", "--time-column", "t"));
        Assert.Contains("have a decimal comma: --decimal-comma reads them", _bench.Error);
        Assert.Equal(0, Import(file, "--kind", "pulses", "--time-column", "t", "--decimal-comma"));
        Assert.Empty(RunVerifier.Verify(Folder));
    }

    [Fact]
    public void Times_that_count_from_1970_tell_when_the_run_was()
    {
        Assert.Equal(0, _bench.Run("import", Write("p.csv", Column(Marks().Select(t => t + 1_805_016_413))), "--kind", "pulses", "--time-column", "1", "--no-header"));
        Assert.Equal(1_805_016_413 + Marks()[0], RunPackageReader.ReadDescriptor(Folder).StartedAt.ToUnixTimeMilliseconds() / 1000.0, 1e-3);
        Assert.Contains("count from 1970", _bench.Error);
    }

    [Theory]
    [InlineData("--kind is needed; allowed is pulses, intervals, speed", "--time-column", "1")]
    [InlineData("--kind: 'pulse' on the command line; allowed is pulses, intervals, speed; did you mean pulses?", "--kind", "pulse", "--time-column", "1")]
    [InlineData("--time-column is needed", "--kind", "pulses")]
    [InlineData("--value-column is needed with --kind speed", "--kind", "speed", "--time-column", "1")]
    [InlineData("allowed only with --kind speed", "--kind", "pulses", "--time-column", "1", "--value-column", "2")]
    [InlineData("--unit: 'hours' on the command line; allowed is s, ms, us, ns", "--kind", "pulses", "--time-column", "1", "--unit", "hours")]
    [InlineData("p.csv, line 1: found the columns 'time', 'x', expected one that --time-column names: 'tim'; did you mean 'time'?", "--kind", "pulses", "--time-column", "tim")]
    [InlineData("p.csv, line 1: found 2 columns, expected column 3 of --time-column: the first is 1", "--kind", "pulses", "--time-column", "3")]
    [InlineData("expected with --no-header the number of a column", "--kind", "pulses", "--time-column", "time", "--no-header")]
    [InlineData("--started: 'yesterday' on the command line; allowed is a moment such as", "--kind", "pulses", "--time-column", "time", "--started", "yesterday")]
    [InlineData("found 2 pulses fit for use, expected 4 or more", "--kind", "pulses", "--time-column", "time")]
    [InlineData("--marks: '9' on the command line; allowed is a whole number from 1 to 8", "--kind", "pulses", "--time-column", "time", "--marks", "9")]
    public void A_wrong_call_is_refused_with_what_is_allowed(string message, params string[] args)
    {
        Assert.Equal(2, _bench.Run(["import", Write("p.csv", "time,x\n1,2\n3,4\n"), .. args]));
        Assert.Contains(message, _bench.Error);
        Assert.Equal("", _bench.Out);
    }
}
