using System.Text.Json.Nodes;

namespace Acquire.Recording.Tests;

/// <summary>What a run and its journal hold of the air; invented data.</summary>
public sealed class EnvironmentTests : IDisposable
{
    private static readonly EnvironmentPoint[] Invented = [new(-4.25, 21.5, 1003.125, double.NaN), new(0, double.NaN, double.NaN, 45), new(5.75, 21.625, 1003, double.NaN)];
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void The_air_is_a_table_of_its_own_with_units_size_and_hash_and_is_read_back()
    {
        string run = Write(Invented);
        Assert.Equal(
            "time_s,temperature_c,pressure_hpa,humidity_pct\n-4.250,21.500,1003.125,\n0.000,,,45.000\n5.750,21.625,1003.000,\n",
            File.ReadAllText(Path.Combine(run, "environment.csv")));
        JsonNode resource = JsonNode.Parse(File.ReadAllText(Path.Combine(run, "datapackage.json")))!["resources"]!.AsArray().Single(r => (string)r!["name"]! == "environment")!;
        Assert.Equal(new FileInfo(Path.Combine(run, "environment.csv")).Length, (long)resource["bytes"]!);
        Assert.Equal(
            ["time_s s", "temperature_c °C", "pressure_hpa hPa", "humidity_pct %"],
            resource["schema"]!["fields"]!.AsArray().Select(f => $"{f!["name"]} {f["unit"]}"));
        Assert.Equal(Invented, RunPackageReader.ReadEnvironment(run));
        Assert.Equal(new RunAir("bmp280@1:0x76, by hand", 3, 1), RunPackageReader.ReadDescriptor(run).Air);
        Assert.Empty(RunVerifier.Verify(run));
    }

    [Fact]
    public void A_run_whose_air_is_not_known_says_nothing_of_it()
    {
        string run = RunPackageWriter.Write(_folder.Root, Runs.Small());
        Assert.False(File.Exists(Path.Combine(run, "environment.csv")));
        Assert.DoesNotContain("\"air\"", File.ReadAllText(Path.Combine(run, "datapackage.json")), StringComparison.Ordinal);
        Assert.Empty(RunPackageReader.ReadEnvironment(run));
        Assert.Empty(RunVerifier.Verify(run));
    }

    [Theory]
    [InlineData("21.500", "21.6", "environment.csv", "its content was changed")]
    [InlineData("5.750", "-5.75", "environment.csv", "row 3: time_s goes back from 0 to -5.75")]
    [InlineData("45.000", "145", "environment.csv", "row 2: holds what no air can be")]
    [InlineData("\n0.000,,,45.000", "", "datapackage.json", "air.readings is 3, but environment.csv has 2")]
    [InlineData("21.625", "warm", "environment.csv", "temperature_c 'warm'")]
    public void Whatever_is_changed_in_its_table_is_named(string from, string to, string file, string what)
    {
        string run = Write(Invented);
        string path = Path.Combine(run, "environment.csv");
        File.WriteAllText(path, File.ReadAllText(path).Replace(from, to, StringComparison.Ordinal));
        Assert.Contains(RunVerifier.Verify(run), problem => problem.File == file && problem.What.Contains(what, StringComparison.Ordinal));
    }

    [Fact]
    public void A_table_that_the_descriptor_tells_of_and_does_not_name_is_a_problem()
    {
        string run = Write(Invented);
        string path = Path.Combine(run, "datapackage.json");
        File.WriteAllText(path, File.ReadAllText(path).Replace("\"name\": \"environment\"", "\"name\": \"other\"", StringComparison.Ordinal));
        Assert.Contains(RunVerifier.Verify(run), problem => problem.What == "tells of the air, but has no resource environment");
    }

    [Fact]
    public void A_look_at_a_sensor_is_an_entry_of_the_journal_and_what_is_not_known_stays_so()
    {
        string path = Path.Combine(_folder.Root, "a.journal");
        var byHand = new AirLooked(AirLooked.ByHand, double.NaN, 1009, double.NaN);
        var look = new AirLooked("sht4x@1:0x44", 21.5, double.NaN, 45);
        var start = new JournalStart("acquire", new UtcAnchor(Runs.StartedAt, 5), new JournalSource("serial", "", "ticks", 1e6, 1), new RunSetup(), new Dictionary<string, string>(), AirByHand: byHand);
        using (JournalWriter writer = JournalWriter.Create(path, start, TimeProvider.System))
            writer.TryAppend(7, look);

        using var reader = new JournalReader(path);
        Assert.True(reader.TryRead(out JournalRecord first));
        Assert.Equal(byHand, first.Entry<JournalStart>().AirByHand);
        Assert.True(reader.TryRead(out JournalRecord second));
        Assert.Equal((JournalEntryKind.AirLook, 7L, look), (second.Kind, second.HostNs, second.Entry<AirLooked>()));
        Assert.Equal("""{"sensor":"sht4x@1:0x44","temperatureC":21.5,"pressureHPa":null,"humidityPct":45}""", System.Text.Encoding.UTF8.GetString(second.Payload));
    }

    private string Write(EnvironmentPoint[] points)
    {
        FinishedRun small = Runs.Small();
        return RunPackageWriter.Write(_folder.Root, new FinishedRun
        {
            Descriptor = small.Descriptor with { Air = new RunAir("bmp280@1:0x76, by hand", points.Length, 1) },
            Pulses = small.Pulses,
            SecondsPerTick = small.SecondsPerTick,
            Speed = small.Speed,
            Events = small.Events,
            Environment = points,
        });
    }
}
