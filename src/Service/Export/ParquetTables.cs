using System.Text.Json;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Runs;
using Parquet;
using Parquet.Schema;

namespace Acquire.Service.Export;

/// <summary>The tables of a run as Apache Parquet. Each file's key-value metadata hold the run's object <c>acquire</c>, the table's schema as the run's
/// descriptor has it, and a unit for each column under <c>unit.COLUMN</c>; a column chunk's metadata hold its unit once more.</summary>
internal sealed class ParquetTables
{
    private const int RowsPerGroup = 1 << 20;
    private readonly RunData _run;
    private readonly JsonDocument _package;

    private ParquetTables(RunData run, JsonDocument package) => (_run, _package) = (run, package);

    /// <summary>Writes speed.csv's rows.</summary>
    public static void WriteSpeed(Stream output, RunData run, ExportSpan span)
    {
        using JsonDocument package = Package(run);
        SpeedPoint[] rows = [.. run.Speed.Where(p => span.Holds(p.TimeS - run.ReleaseS))];
        new ParquetTables(run, package).Write(output, "speed", rows.Length,
        [
            new Number("time_s", i => rows[i].TimeS, Optional: false),
            new Number("rpm", i => rows[i].Rpm),
            new Number("u_rpm", i => rows[i].URpm),
            new Number("decel_rpm_s", i => rows[i].DecelRpmPerS),
            new Number("u_decel_rpm_s", i => rows[i].UDecelRpmPerS),
        ]).GetAwaiter().GetResult();
    }

    /// <summary>Writes pulses.csv's rows.</summary>
    /// <returns>How many.</returns>
    /// <exception cref="RunFormatException">pulses.csv cannot be read.</exception>
    public static int WritePulses(Stream output, RunData run, ExportSpan span)
    {
        using JsonDocument package = Package(run);
        RunPulses pulses = run.ReadPulses();
        int[] rows = [.. Enumerable.Range(0, pulses.Count).Where(i => span.Holds(pulses.TimeS[i] - run.ReleaseS))];
        new ParquetTables(run, package).Write(output, "pulses", rows.Length,
        [
            new Number("time_s", i => pulses.TimeS[rows[i]], Optional: false),
            new Whole("ticks", i => pulses.Ticks[rows[i]], Optional: false),
            new Word("kind", i => pulses.Kind[rows[i]] == PulseKind.Mark ? "mark" : "extra"),
            new Whole("mark", i => pulses.Mark[rows[i]] is >= 0 and var mark ? mark : null),
            new Number("turns", i => pulses.Turns[rows[i]]),
            new Number("width_s", i => pulses.WidthS[rows[i]]),
        ]).GetAwaiter().GetResult();
        return rows.Length;
    }

    private static JsonDocument Package(RunData run) => JsonDocument.Parse(File.ReadAllBytes(Path.Combine(run.Folder, "datapackage.json")));

    private async Task Write(Stream output, string table, int rows, Column[] columns)
    {
        JsonElement schema = Schema(table);
        var units = columns.ToDictionary(c => c.Name, c => Unit(schema, c.Name));
        await using ParquetWriter writer = await ParquetWriter.CreateAsync(new ParquetSchema([.. columns.Select(c => c.Field)]), output).ConfigureAwait(false);
        writer.CustomMetadata = Metadata(table, schema, units);
        for (int from = 0; from == 0 || from < rows; from += RowsPerGroup)
        {
            using ParquetRowGroupWriter group = writer.CreateRowGroup();
            foreach (Column column in columns)
                await column.Write(group, from, Math.Min(RowsPerGroup, rows - from), units[column.Name]).ConfigureAwait(false);
        }
    }

    private Dictionary<string, string> Metadata(string table, JsonElement schema, Dictionary<string, string> units)
    {
        var metadata = new Dictionary<string, string>
        {
            ["run"] = _run.Name,
            ["table"] = table,
            ["writtenBy"] = ProgramVersion.Software,
            ["acquire"] = _package.RootElement.GetProperty("acquire").GetRawText(),
            ["tableSchema"] = schema.ValueKind == JsonValueKind.Undefined ? "{}" : schema.GetRawText(),
        };
        foreach ((string column, string unit) in units.Where(u => u.Value.Length > 0)) metadata["unit." + column] = unit;
        return metadata;
    }

    private JsonElement Schema(string table)
    {
        if (!_package.RootElement.TryGetProperty("resources", out JsonElement resources) || resources.ValueKind != JsonValueKind.Array) return default;
        foreach (JsonElement resource in resources.EnumerateArray())
        {
            if (resource.TryGetProperty("name", out JsonElement name) && name.GetString() == table && resource.TryGetProperty("schema", out JsonElement schema))
                return schema;
        }

        return default;
    }

    private static string Unit(JsonElement schema, string column)
    {
        if (schema.ValueKind != JsonValueKind.Object || !schema.TryGetProperty("fields", out JsonElement fields)) return "";
        foreach (JsonElement field in fields.EnumerateArray())
        {
            if (field.GetProperty("name").GetString() == column)
                return field.TryGetProperty("unit", out JsonElement unit) ? unit.GetString() ?? "" : "";
        }

        return "";
    }

    private abstract record Column(string Name, DataField Field)
    {
        public abstract Task Write(ParquetRowGroupWriter group, int from, int count, string unit);

        protected static Dictionary<string, string> Metadata(string unit) => unit.Length > 0 ? new() { ["unit"] = unit } : [];
    }

    private sealed record Number(string Name, Func<int, double> At, bool Optional = true) : Column(Name, new DataField<double>(Name, Optional))
    {
        public override Task Write(ParquetRowGroupWriter group, int from, int count, string unit)
        {
            if (!Optional)
            {
                double[] every = [.. Enumerable.Range(from, count).Select(At)];
                return group.WriteAsync<double>(Field, every, null, Metadata(unit));
            }

            double?[] known = [.. Enumerable.Range(from, count).Select(i => At(i) is var v && double.IsFinite(v) ? v : (double?)null)];
            return group.WriteAsync<double>(Field, known, null, Metadata(unit));
        }
    }

    private sealed record Whole(string Name, Func<int, long?> At, bool Optional = true) : Column(Name, new DataField<long>(Name, Optional))
    {
        public override Task Write(ParquetRowGroupWriter group, int from, int count, string unit)
        {
            if (!Optional)
            {
                long[] every = [.. Enumerable.Range(from, count).Select(i => At(i)!.Value)];
                return group.WriteAsync<long>(Field, every, null, Metadata(unit));
            }

            long?[] known = [.. Enumerable.Range(from, count).Select(At)];
            return group.WriteAsync<long>(Field, known, null, Metadata(unit));
        }
    }

    private sealed record Word(string Name, Func<int, string> At) : Column(Name, new DataField<string>(Name, false))
    {
        public override Task Write(ParquetRowGroupWriter group, int from, int count, string unit)
        {
            string[] every = [.. Enumerable.Range(from, count).Select(At)];
            return group.WriteAsync(Field, every);
        }
    }
}
