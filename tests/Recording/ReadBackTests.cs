using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Acquire.Recording.Tests;

/// <summary>A run read by general-purpose tools that know nothing of this project: pandas for the tables, jsonschema for the object
/// <c>acquire</c> (Debian's python3-pandas and python3-jsonschema).</summary>
public sealed class ReadBackTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_general_purpose_reader_finds_the_same_values_types_and_counts()
    {
        FinishedRun run = Runs.Small();
        JsonNode found = ReadBack(RunPackageWriter.Write(_folder.Root, run));

        JsonNode pulses = found["pulses"]!;
        Assert.Equal(401, (int)pulses["rows"]!);
        Assert.Equal(["float64", "int64", "object", "float64", "float64", "float64"], Texts(pulses["dtypes"]));
        Assert.Equal(["0", "0", "0", "1", "0", "1"], Texts(pulses["empty"]));
        Assert.Equal(["extra", "mark"], Texts(pulses["words"]!["kind"]));
        Assert.Equal(run.Pulses.Sum(pulse => pulse.Ticks), (long)(double)pulses["sums"]!["ticks"]!);
        Assert.Equal(run.Pulses.Sum(pulse => (pulse.Ticks - 1_000_000) * 5e-7), (double)pulses["sums"]!["time_s"]!, 6);
        Assert.Equal(run.Pulses.Sum(pulse => pulse.Turns), (double)pulses["sums"]!["turns"]!, 6);
        Assert.Equal(run.Pulses.Sum(pulse => pulse.WidthTicks * 5e-7), (double)pulses["sums"]!["width_s"]!, 9);
        Assert.Equal(run.Pulses.Count(pulse => pulse.Mark == 1), (int)(double)pulses["sums"]!["mark"]!);

        JsonNode speed = found["speed"]!;
        Assert.Equal(3, (int)speed["rows"]!);
        Assert.All(Texts(speed["dtypes"]), type => Assert.Equal("float64", type));
        Assert.Equal(["0", "1", "1", "1", "1"], Texts(speed["empty"]));
        Assert.Equal(1500 + 1409.0625, (double)speed["sums"]!["rpm"]!, 9);

        JsonNode events = found["events"]!;
        Assert.Equal(4, (int)events["rows"]!);
        Assert.Equal(["hand before the sensor, \"twice\"", "two\nlines"], Texts(events["words"]!["detail"]));

        foreach (string table in new[] { "pulses", "speed", "events" })
        {
            Assert.Equal(Texts(found[table]!["fields"]), Texts(found[table]!["columns"]));
            Assert.True((bool)found[table]!["sizeHolds"]!);
            Assert.True((bool)found[table]!["hashHolds"]!);
        }
    }

    [Fact]
    public void The_object_acquire_keeps_the_committed_schema()
    {
        JsonNode found = ReadBack(RunPackageWriter.Write(_folder.Root, Runs.Small()));
        Assert.Empty(found["schemaProblems"]!.AsArray());
    }

    [Fact]
    public void An_object_that_breaks_the_schema_is_told()
    {
        FinishedRun small = Runs.Small();
        string folder = RunPackageWriter.Write(_folder.Root, small);
        string path = Path.Combine(folder, "datapackage.json");
        File.WriteAllText(path, File.ReadAllText(path).Replace("\"hostClock\": \"synchronised\"", "\"hostClock\": \"perhaps\"", StringComparison.Ordinal));
        JsonNode problem = Assert.Single(ReadBack(folder)["schemaProblems"]!.AsArray())!;
        Assert.Contains("perhaps", (string)problem!, StringComparison.Ordinal);
    }

    private static string[] Texts(JsonNode? array) => [.. array!.AsArray().Select(item => item!.ToString())];

    private JsonNode ReadBack(string runFolder)
    {
        string schema = _folder.At("schema.json");
        File.WriteAllText(schema, RunSchemaTests.SchemaText());
        // Debian's own interpreter: another one first in the path would not see Debian's packages.
        const string DebiansPython = "/usr/bin/python3";
        string python = File.Exists(DebiansPython) ? DebiansPython : "python3";
        string script = Path.Combine(AppContext.BaseDirectory, "read_back.py");
        var call = new ProcessStartInfo(python, [script, runFolder, schema]) { RedirectStandardOutput = true, RedirectStandardError = true };
        using Process process = Process.Start(call)!;
        Task<string> errors = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, $"{python} {script} (it needs python3-pandas and python3-jsonschema): {errors.Result}");
        return JsonSerializer.Deserialize<JsonNode>(output)!;
    }
}
