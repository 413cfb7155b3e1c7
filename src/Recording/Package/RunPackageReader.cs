using System.Globalization;
using System.Text.Json;
using Acquire.Motion;
using nietras.SeparatedValues;

namespace Acquire.Recording;

/// <summary>Reads a run's folder. What is not as the format says is a <see cref="RunFormatException"/> that names file and line.</summary>
public static class RunPackageReader
{
    /// <summary>Reads the object <c>acquire</c> of the descriptor.</summary>
    /// <exception cref="RunFormatException">Missing, not JSON, of another version or with members missing.</exception>
    public static RunDescriptor ReadDescriptor(string runFolder) => ReadPackage(runFolder).Acquire;

    /// <summary>Reads the descriptor with the files that it names.</summary>
    /// <exception cref="RunFormatException">As <see cref="ReadDescriptor"/>.</exception>
    public static (RunDescriptor Descriptor, IReadOnlyList<RunFile> Files) ReadWithFiles(string runFolder)
    {
        DataPackageFile file = ReadPackage(runFolder);
        return (file.Acquire, [.. file.Resources.Select(r => new RunFile(r.Path, r.Bytes, r.Hash))]);
    }

    /// <summary>Reads pulses.csv.</summary>
    /// <exception cref="RunFormatException">Missing, or a row is not as the format says.</exception>
    public static RunPulses ReadPulses(string runFolder) => PulsesFile.Read(Existing(runFolder, RunTables.Pulses));

    /// <summary>Reads speed.csv.</summary>
    /// <exception cref="RunFormatException">Missing, or a row is not as the format says.</exception>
    public static IReadOnlyList<SpeedPoint> ReadSpeed(string runFolder) =>
        ReadTable(runFolder, RunTables.Speed, static (row, cells) => new SpeedPoint(
            cells.Required(row, 0), cells.Number(row, 1), cells.Number(row, 2), cells.Number(row, 3), cells.Number(row, 4)));

    /// <summary>Reads events.csv.</summary>
    /// <exception cref="RunFormatException">Missing, or a row is not as the format says.</exception>
    public static IReadOnlyList<RunEvent> ReadEvents(string runFolder) =>
        ReadTable(runFolder, RunTables.Events, static (row, cells) => new RunEvent(
            cells.Required(row, 0), cells.Word(row, 1), row[2].ToString()));

    /// <summary>Reads wobble.csv; nothing where the run has none.</summary>
    /// <exception cref="RunFormatException">A row is not as the format says.</exception>
    public static IReadOnlyList<WobblePoint> ReadWobble(string runFolder) =>
        File.Exists(Path.Combine(runFolder, RunTables.Wobble.FileName))
            ? ReadTable(runFolder, RunTables.Wobble, static (row, cells) => new WobblePoint(
                cells.Required(row, 0), cells.Number(row, 1), cells.Number(row, 2), cells.Number(row, 3), cells.Number(row, 4), cells.Number(row, 5)))
            : [];

    /// <summary>Reads environment.csv; nothing where the run has none.</summary>
    /// <exception cref="RunFormatException">A row is not as the format says.</exception>
    public static IReadOnlyList<EnvironmentPoint> ReadEnvironment(string runFolder) =>
        File.Exists(Path.Combine(runFolder, RunTables.Environment.FileName))
            ? ReadTable(runFolder, RunTables.Environment, static (row, cells) => new EnvironmentPoint(
                cells.Required(row, 0), cells.Number(row, 1), cells.Number(row, 2), cells.Number(row, 3)))
            : [];

    internal static DataPackageFile ReadPackage(string runFolder)
    {
        string path = Path.Combine(runFolder, DataPackageFile.FileName);
        if (!File.Exists(path))
            throw new RunFormatException(path, "", "no file", "the descriptor of a run");
        byte[] bytes = File.ReadAllBytes(path);
        try
        {
            CheckVersion(path, bytes);
            DataPackageFile file = JsonSerializer.Deserialize(bytes, RunJson.File)
                ?? throw new RunFormatException(path, "line 1", "null", "an object");
            if (!EndReasons.All.Contains(file.Acquire.EndReason))
                throw new RunFormatException(path, "acquire.endReason", $"'{file.Acquire.EndReason}'", string.Join(", ", EndReasons.All));
            return file;
        }
        catch (JsonException e)
        {
            string place = e.LineNumber is { } line ? $"line {line + 1}" : "";
            throw new RunFormatException(path, place, e.Message.TrimEnd('.'), "a run's descriptor, version 1", e);
        }
    }

    private static void CheckVersion(string path, byte[] bytes)
    {
        using JsonDocument document = JsonDocument.Parse(bytes);
        if (document.RootElement.ValueKind != JsonValueKind.Object
            || !document.RootElement.TryGetProperty("acquire", out JsonElement acquire)
            || acquire.ValueKind != JsonValueKind.Object
            || !acquire.TryGetProperty("version", out JsonElement version))
            throw new RunFormatException(path, "", "no object acquire with a version", "the descriptor of a run");
        if (version.ValueKind != JsonValueKind.Number || !version.TryGetInt32(out int number) || number != 1)
            throw new RunFormatException(path, "acquire.version", version.GetRawText(), "1: read it with the program that wrote it");
    }

    private static string Existing(string runFolder, RunTable table)
    {
        string path = Path.Combine(runFolder, table.FileName);
        return File.Exists(path) ? path : throw new RunFormatException(path, "", "no file", $"the table {table.Name} of a run");
    }

    private static List<T> ReadTable<T>(string runFolder, RunTable table, Func<SepReader.Row, RowCells, T> readRow)
    {
        string path = Existing(runFolder, table);
        var rows = new List<T>();
        var cells = new RowCells(path, table);
        try
        {
            using SepReader reader = Sep.New(',').Reader(o => o with { Unescape = true, DisableColCountCheck = true }).FromFile(path);
            string header = string.Join(',', reader.Header.ColNames);
            if (header != table.Header)
                throw new RunFormatException(path, "line 1", $"the columns {header}", table.Header);
            foreach (SepReader.Row row in reader)
            {
                if (row.ColCount != table.Columns.Count)
                    throw new RunFormatException(path, $"line {row.LineNumberFrom}", $"{row.ColCount} columns", $"{table.Columns.Count}: {table.Header}");
                rows.Add(readRow(row, cells));
            }
        }
        catch (Exception e) when (e is InvalidDataException or ArgumentException or NotSupportedException)
        {
            throw new RunFormatException(path, "", e.Message.ReplaceLineEndings(" "), $"the columns {table.Header} in each row", e);
        }

        return rows;
    }

    private sealed class RowCells(string path, RunTable table)
    {
        public double Required(SepReader.Row row, int column)
        {
            double value = Number(row, column);
            return double.IsNaN(value) ? throw Wrong(row, column, "a finite number") : value;
        }

        public double Number(SepReader.Row row, int column)
        {
            ReadOnlySpan<char> text = row[column].Span;
            if (text.IsEmpty)
                return double.NaN;
            return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value)
                ? value
                : throw Wrong(row, column, "a number or nothing");
        }

        public string Word(SepReader.Row row, int column)
        {
            string text = row[column].ToString();
            return text.Length > 0 ? text : throw Wrong(row, column, "a word");
        }

        private RunFormatException Wrong(SepReader.Row row, int column, string expected) =>
            new(path, $"line {row.LineNumberFrom}", $"{table.Columns[column].Name} '{row[column].ToString()}'", expected);
    }
}
