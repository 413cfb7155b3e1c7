using System.Globalization;
using System.Text;
using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class BrakeCommandTests : IDisposable
{
    private const double Rpm = Math.PI / 30;
    private readonly Bench _bench = new();
    private readonly Random _random = new(20270314);

    public void Dispose() => _bench.Dispose();

    // Equal torque at 1500 rpm: the cover brakes less above.
    private static double TorqueNm(string name, double w) => name switch
    {
        "open" => 2e-4 + (6e-4 * Math.Pow(w / (1500 * Rpm), 1.8)),
        "cover" => 4e-4 + (4e-4 * Math.Pow(w / (1500 * Rpm), 1.5)),
        _ => 0,
    };

    private double PowerW(string name, double w) => (w * (2e-3 + (3e-6 * w) + TorqueNm(name, w))) + (0.004 * Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble())) * Math.Cos(2 * Math.PI * _random.NextDouble()));

    private string Write(string file, string text)
    {
        string path = Path.Combine(_bench.Current, file);
        File.WriteAllText(path, text);
        return path;
    }

    private string Sheet(double? beyond = null)
    {
        var text = new StringBuilder("# invented\nconfiguration,speed_rpm,power_w\n");
        foreach (string name in (string[])["bare", "open", "cover", "bare", "cover", "open"])
        {
            for (int rpm = 600; rpm <= 3000; rpm += 200)
                text.Append(CultureInfo.InvariantCulture, $"{name},{rpm},{PowerW(name, rpm * Rpm):F5}\n");
        }

        if (beyond is { } fast) text.Append(CultureInfo.InvariantCulture, $"open,{fast},9\n");
        return Write("bench.csv", text.ToString());
    }

    [Fact]
    public void The_json_has_the_keys_of_the_contract_and_the_speed_that_was_put_in()
    {
        Assert.True(_bench.Run("brake", Sheet(3600), "--baseline", "bare", "--json") == 0, _bench.Error);
        JsonElement[] configurations = [.. JsonDocument.Parse(_bench.Out).RootElement.GetProperty("configurations").EnumerateArray()];
        Assert.Equal(["open", "cover"], configurations.Select(c => c.GetProperty("name").GetString()));
        Assert.Equal(JsonValueKind.Null, configurations[0].GetProperty("betterAboveRpm").ValueKind);
        Assert.InRange(1500.0, configurations[1].GetProperty("lowRpm").GetDouble(), configurations[1].GetProperty("highRpm").GetDouble());
        Assert.InRange(configurations[1].GetProperty("betterAboveRpm").GetDouble(), 1200, 1800);
        JsonElement[] points = [.. configurations[0].GetProperty("points").EnumerateArray()];
        Assert.Equal(27, points.Length);
        Assert.Equal(JsonValueKind.Null, points[^1].GetProperty("torqueNm").ValueKind);
        Assert.True(points[^1].GetProperty("flagged").GetBoolean());
        Assert.All(points.SkipLast(1), p =>
        {
            double truth = TorqueNm("open", p.GetProperty("rpm").GetDouble() * Rpm);
            Assert.InRange(p.GetProperty("torqueNm").GetDouble(), truth - (5 * p.GetProperty("uTorqueNm").GetDouble()), truth + (5 * p.GetProperty("uTorqueNm").GetDouble()));
        });
    }

    [Fact]
    public void For_people_the_verdict_comes_first_and_cautions_stand_in_answer_page_and_help()
    {
        string plot = Path.Combine(_bench.Current, "a.png");
        string page = Path.Combine(_bench.Current, "a.html");
        Assert.True(_bench.Run("brake", Sheet(3600), "--baseline", "bare", "--plot", plot, "--report", page) == 0, _bench.Error);
        string[] lines = _bench.Out.Split('\n');
        Assert.StartsWith("cover: brakes less than open above ", lines[2]);
        Assert.Contains("more below", lines[2], StringComparison.Ordinal);
        Assert.Contains("open: 1 reading at speeds at which the bare motor was not read", _bench.Out, StringComparison.Ordinal);
        Assert.True(new FileInfo(plot).Length > 10_000);
        string html = File.ReadAllText(page);
        Assert.Contains("<svg", html, StringComparison.Ordinal);
        using var help = new Bench();
        Assert.Equal(0, help.Run("brake", "--help"));
        foreach (string caution in (string[])["can burst", "Local codes"])
        {
            Assert.Contains(caution, _bench.Out, StringComparison.Ordinal);
            Assert.Contains(caution, html, StringComparison.Ordinal);
            Assert.Contains(caution, help.Out, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Files_of_their_own_with_other_columns_units_and_decimal_commas_say_the_same_as_one_sheet()
    {
        Assert.Equal(0, _bench.Run("brake", Sheet(), "--baseline", "bare", "--json"));
        double[] expected = Torques(_bench.Out);
        string[] rows = File.ReadAllLines(Path.Combine(_bench.Current, "bench.csv"))[2..];
        foreach (string name in (string[])["bare", "open", "cover"])
        {
            IEnumerable<string> own = rows.Where(r => r.StartsWith(name + ",", StringComparison.Ordinal)).Select(r => r.Split(',')).Select(c =>
                string.Create(CultureInfo.InvariantCulture, $"{double.Parse(c[1], CultureInfo.InvariantCulture) / 60:R};{double.Parse(c[2], CultureInfo.InvariantCulture) * 1000 / 12:R};12").Replace('.', ','));
            Write(name + ".csv", "n;I;U\n" + string.Join('\n', own));
        }

        using var again = new Bench();
        string At(string name) => Path.Combine(_bench.Current, name + ".csv");
        Assert.True(again.Run("brake", At("open"), At("cover"), "--baseline", At("bare"), "--speed-column", "n", "--speed-unit", "rev/s",
            "--volts-column", "3", "--amps-column", "I", "--current-unit", "mA", "--decimal-comma", "--json") == 0, again.Error);
        double[] found = Torques(again.Out);
        Assert.Equal(expected.Length, found.Length);
        for (int i = 0; i < found.Length; i++) Assert.Equal(1, found[i] / expected[i], 1e-9);
    }

    [Fact]
    public void A_template_once_filled_in_is_read_without_options()
    {
        Assert.Equal(0, _bench.Run("brake", "--template", "new.csv"));
        string file = Path.Combine(_bench.Current, "new.csv");
        string[] filled = [.. File.ReadAllLines(file).Select(l => l.EndsWith(",,", StringComparison.Ordinal) ? Filled(l.Split(',')) : l)];
        Assert.Contains(filled, l => l.StartsWith("bare,600,12,", StringComparison.Ordinal));
        File.WriteAllLines(file, filled);
        using var next = new Bench();
        Assert.True(next.Run("brake", file, "--baseline", "bare") == 0, next.Error);
        Assert.Equal("", next.Error);
        Assert.Contains("cover: brakes less than open above", next.Out, StringComparison.Ordinal);
        Assert.Equal(2, _bench.Run("brake", "--template", "new.csv"));
        Assert.Contains("is there already", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Lines_that_cannot_be_read_are_told_and_counted()
    {
        string file = Sheet();
        File.AppendAllText(file, "open,fast,1\nopen,0,1\ncover,900,\n\"cover,900,1\nopen\n");
        Assert.True(_bench.Run("brake", file, "--baseline", "bare") == 0, _bench.Error);
        foreach (string said in (string[])["line 81: found 'fast', expected a number", "line 82: found a speed of 0", "line 83: not filled in", "line 84: found a quotation mark without its partner", "5 of 83 lines left out"])
            Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("FILE and --baseline BARE are needed")]
    [InlineData("FILE and --baseline BARE are needed", "bench.csv")]
    [InlineData("'bear' is neither a file nor a configuration of the sheets, which are bare, open, cover; did you mean bare?", "bench.csv", "--baseline", "bear")]
    [InlineData("--against: there is no configuration 'jar'; there are open, cover", "bench.csv", "--baseline", "bare", "--against", "jar")]
    [InlineData("found no file, expected a sheet", "none.csv", "--baseline", "bare")]
    [InlineData("one of power (power_w, power, watts, or --power-column)", "odd.csv", "--baseline", "bare")]
    [InlineData("--speed-unit: 'mph' on the command line; allowed is rpm, rad/s, Hz, rev/s", "bench.csv", "--baseline", "bare", "--speed-unit", "mph")]
    [InlineData("one that --power-column names: 'power_v'; did you mean 'power_w'?", "bench.csv", "--baseline", "bare", "--power-column", "power_v")]
    [InlineData("78 of 78 readings have no amps", "bench.csv", "--baseline", "bare", "--winding-ohm", "1.2")]
    [InlineData("is --speed-unit right?", "bench.csv", "--baseline", "bare", "--speed-unit", "Hz", "--speed-column", "fast")]
    [InlineData("has the configurations bare, open, cover; allowed is a sheet of the bare motor alone", "bench.csv", "--baseline", "bench.csv")]
    public void A_wrong_call_says_what_is_wrong_and_what_is_allowed(string said, params string[] args)
    {
        string[] lines = File.ReadAllLines(Sheet());
        Write("bench.csv", string.Join('\n', lines.Select((l, i) => i == 0 ? l : l + (i == 1 ? ",fast" : ",1000000"))));
        Write("odd.csv", "configuration,speed_rpm,torque\nopen,600,1\n");
        Assert.Equal(2, _bench.Run(["brake", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire brake --help.", _bench.Error, StringComparison.Ordinal);
    }

    private string Filled(string[] cells)
    {
        double rpm = double.Parse(cells[1], CultureInfo.InvariantCulture);
        return string.Create(CultureInfo.InvariantCulture, $"{cells[0]},{rpm},12,{PowerW(cells[0], rpm * Rpm) / 12:F6}");
    }

    private static double[] Torques(string json) =>
        [.. JsonDocument.Parse(json).RootElement.GetProperty("configurations").EnumerateArray().SelectMany(c => c.GetProperty("points").EnumerateArray()).Select(p => p.GetProperty("torqueNm").GetDouble())];
}
