using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Commands;
using nietras.SeparatedValues;

namespace Acquire.Service.Import;

/// <summary>Which columns of a file are read, and how.</summary>
/// <param name="TimeColumn">Name, or number from 1, of the column of times.</param>
/// <param name="ValueColumn">The same of the speeds; null where there are none.</param>
/// <param name="HasHeader">Whether the first line names the columns.</param>
/// <param name="DecimalComma">Whether numbers have a comma where others have a point.</param>
internal sealed record ImportColumns(string TimeColumn, string? ValueColumn, bool HasHeader, bool DecimalComma);

/// <summary>A number of a file, with a second one where a column of values is read.</summary>
/// <param name="Line">Its line, from 1.</param>
/// <param name="Time">As it stands in the file.</param>
/// <param name="Value">As it stands in the file; 0 where none is read.</param>
internal readonly record struct ImportRow(long Line, decimal Time, double Value);

/// <summary>The numbers of one or two columns of a file of separated values; what is no number is counted.</summary>
internal sealed class ImportTable
{
    private static readonly char[] Separators = [';', '\t', ','];
    private readonly string _file;
    private readonly ImportColumns _columns;
    private int _time = -1;
    private int _value = -1;
    private long _line;
    private string[]? _quoted; // cells of a line that has quotation marks

    private ImportTable(string file, ImportColumns columns) => (_file, _columns) = (file, columns);

    /// <summary>The numbers.</summary>
    public List<ImportRow> Rows { get; } = [];

    /// <summary>What was left out.</summary>
    public LeftOut LeftOut { get; } = new();

    /// <summary>Empty lines and comments.</summary>
    public long Blank { get; private set; }

    /// <summary>What separates the columns.</summary>
    public char Separator { get; private set; } = ',';

    /// <summary>Something odd about the file, or empty.</summary>
    public string Odd { get; private set; } = "";

    /// <summary>Names of the columns that were read, for people.</summary>
    public string TimeName { get; private set; } = "";

    /// <summary>Reads a file.</summary>
    /// <exception cref="RunFormatException">It has no such column, or cannot be split into columns.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static ImportTable Read(string file, ImportColumns columns)
    {
        var table = new ImportTable(file, columns);
        table.Separator = FindSeparator(file);
        try
        {
            using var text = new CommentsOut(new StreamReader(file));
            table.Read(text);
        }
        catch (Exception e) when (e is InvalidDataException or ArgumentException or NotSupportedException)
        {
            throw new RunFormatException(file, "", e.Message.ReplaceLineEndings(" ").TrimEnd('.'), "lines of separated values", e);
        }

        if (table._time < 0)
            throw new RunFormatException(file, "", "nothing in it but empty lines and comments", "lines of separated values");
        table.LeftOut.Trim();
        return table;
    }

    private void Read(CommentsOut text)
    {
        using SepReader reader = Sep.New(Separator).Reader(o => o with { HasHeader = false, DisableQuotesParsing = true, DisableColCountCheck = true }).From(text);
        foreach (SepReader.Row row in reader)
        {
            _line = _line == 0 ? 1 : row.LineNumberFrom; // without a header the first row is said to be on line 2
            _quoted = row.Span.Contains('"') ? Unquoted(row) : null;
            if (Columns(row) == 1 && Cell(row, 0).IsEmpty)
            {
                Blank++;
                continue;
            }

            if (_time < 0)
            {
                FindColumns(row);
                if (_columns.HasHeader)
                    continue;
            }

            Take(row);
        }
    }

    private void Take(SepReader.Row row)
    {
        if (Number(row, _time) is not { } time)
            return;
        double value = 0;
        if (_value >= 0)
        {
            if (Number(row, _value) is not { } given)
                return;
            value = (double)given;
        }

        Rows.Add(new ImportRow(_line, time, value));
    }

    private decimal? Number(SepReader.Row row, int column)
    {
        if (column >= Columns(row))
        {
            LeftOut.Add(_line, LeftOutKind.NoNumber, $"found {Columns(row)} columns, expected {column + 1} or more");
            return null;
        }

        ReadOnlySpan<char> cell = Cell(row, column);
        bool comma = cell.Contains(',');
        if (_columns.DecimalComma && comma && !cell.Contains('.'))
            cell = cell.ToString().Replace(',', '.');
        if (decimal.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal number))
            return number;
        string shown = cell.Length > 40 ? cell[..40].ToString() + "…" : cell.ToString();
        if (comma)
            LeftOut.NoteComma();
        LeftOut.Add(_line, LeftOutKind.NoNumber, $"found '{Display.Lines.OneLine(shown)}', expected a number");
        return null;
    }

    private int Columns(SepReader.Row row) => _quoted?.Length ?? row.ColCount;

    private ReadOnlySpan<char> Cell(SepReader.Row row, int column) => _quoted is null ? row[column].Span.Trim() : _quoted[column];

    // A mark without its partner costs its own line: the reader of the package would take all that follows for one cell.
    private string[] Unquoted(SepReader.Row row)
    {
        var cells = new List<string>();
        bool open = false;
        var cell = new System.Text.StringBuilder();
        foreach (char c in row.Span)
        {
            open ^= c == '"';
            if (c == Separator && !open)
            {
                cells.Add(cell.ToString().Trim());
                cell.Clear();
            }
            else if (c != '"')
            {
                cell.Append(c);
            }
        }

        cells.Add(cell.ToString().Trim());
        return open ? [row.Span.ToString()] : [.. cells];
    }

    private void FindColumns(SepReader.Row row)
    {
        string[] names = new string[Columns(row)];
        for (int i = 0; i < names.Length; i++)
            names[i] = Cell(row, i).ToString();
        _time = Find("--time-column", _columns.TimeColumn, names, _line);
        _value = _columns.ValueColumn is { } value ? Find("--value-column", value, names, _line) : -1;
        if (_time == _value)
            throw new RunFormatException(_file, "", $"--time-column and --value-column both '{_columns.TimeColumn}'", "two columns");
        TimeName = _columns.HasHeader ? names[_time] : (_time + 1).ToString(CultureInfo.InvariantCulture);
        if (_columns.HasHeader && names.All(n => decimal.TryParse(n, NumberStyles.Float, CultureInfo.InvariantCulture, out _)))
            Odd = $"{_file}, line {_line}: found numbers where the columns' names are expected; the line is taken for names. --no-header says that there are none";
    }

    private int Find(string option, string column, string[] names, long line)
    {
        if (int.TryParse(column, NumberStyles.None, CultureInfo.InvariantCulture, out int number) && (number >= 1 || !names.Contains(column)))
        {
            return number >= 1 && number <= names.Length ? number - 1
                : throw new RunFormatException(_file, $"line {line}", $"{names.Length} columns", $"column {number} of {option}: the first is 1");
        }

        if (!_columns.HasHeader)
            throw new RunFormatException(_file, "", $"{option} '{column}'", "with --no-header the number of a column, from 1");
        int at = Array.IndexOf(names, column);
        if (at < 0)
            at = Array.FindIndex(names, n => n.Equals(column, StringComparison.OrdinalIgnoreCase));
        if (at >= 0)
            return at;
        string meant = NearestName.To(column, names) is { } nearest ? $"; did you mean '{nearest}'?" : "";
        string shown = string.Join(", ", names.Take(20).Select(n => $"'{Display.Lines.OneLine(n.Length > 40 ? n[..40] + "…" : n)}'"));
        throw new RunFormatException(_file, $"line {line}", $"the columns {shown}", $"one that {option} names: '{column}'{meant}");
    }

    // The first line that says anything: a semicolon or a tab separates wherever there is one, since a comma may stand in a number.
    internal static char FindSeparator(string file)
    {
        using var text = new CommentsOut(new StreamReader(file));
        const int Most = 4000;
        var line = new List<char>();
        for (int c = text.Read(); c >= 0 && line.Count < Most; c = text.Read())
        {
            if (c is not ('\n' or '\r'))
                line.Add((char)c);
            else if (line.Any(seen => !char.IsWhiteSpace(seen)))
                break;
            else
                line.Clear();
        }

        bool quoted = false;
        var outside = new HashSet<char>();
        foreach (char c in line)
        {
            quoted ^= c == '"';
            if (!quoted)
                outside.Add(c);
        }

        return Array.Find(Separators, outside.Contains) is var found && found != '\0' ? found : ',';
    }
}
