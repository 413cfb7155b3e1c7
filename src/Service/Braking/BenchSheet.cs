using System.Globalization;
using System.Text;
using Acquire.Recording;
using Acquire.Results.Braking;
using Acquire.Service.Commands;
using Acquire.Service.Import;

namespace Acquire.Service.Braking;

/// <summary>A sheet of bench readings: separated values, typed by hand as a rule. What cannot be read is counted.</summary>
internal sealed class BenchSheet
{
    private readonly string _file;
    private readonly BenchColumns _columns;
    private readonly char _separator;
    private int _speed = -1;
    private int _power = -1;
    private int _volts = -1;
    private int _amps = -1;
    private int _configuration = -1;

    private BenchSheet(string file, BenchColumns columns) => (_file, _columns, _separator) = (file, columns, ImportTable.FindSeparator(file));

    /// <summary>Its configurations in the order in which they come; one named after the file where no column tells.</summary>
    public List<BenchConfiguration> Configurations { get; } = [];

    /// <summary>Lines left out.</summary>
    public LeftOut LeftOut { get; } = new();

    /// <summary>Lines with readings, those left out too.</summary>
    public int Lines { get; private set; }

    /// <summary>Reads a sheet.</summary>
    /// <exception cref="RunFormatException">It has no such columns, or nothing in it.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static BenchSheet Read(string file, BenchColumns columns)
    {
        var sheet = new BenchSheet(file, columns);
        sheet.Read();
        sheet.LeftOut.Trim();
        return sheet;
    }

    private void Read()
    {
        int number = 0;
        bool begun = false;
        var found = new Dictionary<string, List<BenchReading>>(StringComparer.Ordinal);
        foreach (string line in File.ReadLines(_file))
        {
            number++;
            if (line.AsSpan().Trim().IsEmpty || line.TrimStart().StartsWith('#'))
                continue;
            string[]? cells = Cells(line);
            if (!begun)
            {
                begun = true;
                FindColumns(cells ?? throw Wrong(number, "a quotation mark without its partner", "the columns' names"), number);
                if (_columns.HasHeader)
                    continue;
            }

            if (cells is not null && cells.All(c => c.Length == 0))
                continue;
            Lines++;
            if (cells is null)
                LeftOut.Add(number, LeftOutKind.NoNumber, "found a quotation mark without its partner, expected one at the end too");
            else
                Take(cells, number, found);
        }

        if (!begun)
            throw new RunFormatException(_file, "", "nothing in it but empty lines and comments", "a sheet of bench readings");
        foreach ((string name, List<BenchReading> readings) in found)
            Configurations.Add(new BenchConfiguration(name, readings));
    }

    private void Take(string[] cells, int line, Dictionary<string, List<BenchReading>> found)
    {
        // A line of the template that was not filled in is no reading.
        bool IsEmpty(int column) => column < 0 || column >= cells.Length || cells[column].Length == 0;
        if (IsEmpty(_power) && IsEmpty(_volts) && IsEmpty(_amps))
        {
            LeftOut.Add(line, LeftOutKind.NoNumber, "not filled in");
            return;
        }

        if (Number(cells, _speed, line) is not { } speed || Power(cells, line) is not { } powerW)
            return;
        double amps = double.NaN;
        if (!IsEmpty(_amps))
        {
            if (Number(cells, _amps, line) is not { } current)
                return;
            amps = current * _columns.AmpsPerUnit;
        }

        if (!(speed > 0))
        {
            LeftOut.Add(line, LeftOutKind.CannotBe, Text($"found a speed of {speed}, expected one above 0"));
            return;
        }

        string name = IsEmpty(_configuration) ? Path.GetFileNameWithoutExtension(_file) : cells[_configuration];
        if (!found.TryGetValue(name, out List<BenchReading>? readings))
            found[name] = readings = [];
        readings.Add(new BenchReading(line, speed * _columns.RadPerSPerUnit, powerW, amps));
    }

    private double? Power(string[] cells, int line)
    {
        if (_power >= 0)
            return Number(cells, _power, line) * _columns.WattsPerUnit;
        return Number(cells, _volts, line) is { } volts && Number(cells, _amps, line) is { } amps ? volts * amps * _columns.AmpsPerUnit : null;
    }

    private double? Number(string[] cells, int column, int line)
    {
        if (column >= cells.Length)
        {
            LeftOut.Add(line, LeftOutKind.NoNumber, $"found {cells.Length} columns, expected {column + 1} or more");
            return null;
        }

        string cell = cells[column];
        bool comma = cell.Contains(',', StringComparison.Ordinal);
        if (_columns.DecimalComma && comma && !cell.Contains('.', StringComparison.Ordinal))
            cell = cell.Replace(',', '.');
        if (double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out double number) && double.IsFinite(number))
            return number;
        if (comma)
            LeftOut.NoteComma();
        LeftOut.Add(line, LeftOutKind.NoNumber, $"found '{Service.Display.Lines.OneLine(cell.Length > 40 ? cell[..40] + "…" : cell)}', expected a number");
        return null;
    }

    private void FindColumns(string[] names, int line)
    {
        _speed = Find("--speed-column", nameof(BenchColumns.Speed), _columns.Speed, names, line);
        _power = Find("--power-column", nameof(BenchColumns.Power), _columns.Power, names, line);
        _volts = Find("--volts-column", nameof(BenchColumns.Volts), _columns.Volts, names, line);
        _amps = Find("--amps-column", nameof(BenchColumns.Amps), _columns.Amps, names, line);
        _configuration = Find("--configuration-column", nameof(BenchColumns.Configuration), _columns.Configuration, names, line);
        string shown = "the columns " + string.Join(", ", names.Take(20).Select(n => $"'{Service.Display.Lines.OneLine(n.Length > 40 ? n[..40] + "…" : n)}'"));
        if (_speed < 0)
            throw Wrong(line, shown, $"one of speeds: {Names(nameof(BenchColumns.Speed))}, or another that --speed-column names");
        if (_power < 0 && (_volts < 0 || _amps < 0))
            throw Wrong(line, shown, $"one of power ({Names(nameof(BenchColumns.Power))}, or --power-column), or two of volts and amps (--volts-column, --amps-column)");
        int[] used = [.. new[] { _speed, _power, _volts, _amps, _configuration }.Where(c => c >= 0)];
        if (used.Distinct().Count() < used.Length)
            throw Wrong(line, "one column for two things", "a column for each");
    }

    private static string Names(string what) => string.Join(", ", BenchColumns.Usual[what]);

    private int Find(string option, string what, string? column, string[] names, int line)
    {
        if (column is null)
            return _columns.HasHeader ? Array.FindIndex(names, n => BenchColumns.Usual[what].Contains(n, StringComparer.OrdinalIgnoreCase)) : -1;
        if (int.TryParse(column, NumberStyles.None, CultureInfo.InvariantCulture, out int number) && (number >= 1 || !names.Contains(column)))
        {
            return number >= 1 && number <= names.Length ? number - 1
                : throw Wrong(line, $"{names.Length} columns", $"column {number} of {option}: the first is 1");
        }

        if (!_columns.HasHeader)
            throw new RunFormatException(_file, "", $"{option} '{column}'", "with --no-header the number of a column, from 1");
        int at = Array.FindIndex(names, n => n.Equals(column, StringComparison.OrdinalIgnoreCase));
        return at >= 0 ? at
            : throw Wrong(line, "no such column", $"one that {option} names: '{column}'{(NearestName.To(column, names) is { } near ? $"; did you mean '{near}'?" : "")}");
    }

    // Null where a quotation mark has no partner: that costs its own line and no other.
    private string[]? Cells(string line)
    {
        var cells = new List<string>();
        var cell = new StringBuilder();
        bool quoted = false;
        foreach (char c in line)
        {
            quoted ^= c == '"';
            if (c == _separator && !quoted)
            {
                cells.Add(cell.ToString().Trim());
                cell.Clear();
            }
            else if (c is not '"' and not '\uFEFF')
            {
                cell.Append(c);
            }
        }

        cells.Add(cell.ToString().Trim());
        return quoted ? null : [.. cells];
    }

    private RunFormatException Wrong(int line, string found, string expected) => new(_file, $"line {line}", found, expected);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
