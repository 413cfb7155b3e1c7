using System.Globalization;
using System.Text;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Runs;
using nietras.SeparatedValues;

namespace Acquire.Service.Plans;

/// <summary>Reads a plan's sheet as it is after a spreadsheet or an editor had it: with or without a byte-order mark, columns parted by commas,
/// semicolons or tabs, any line endings, columns added, rows put in another order or taken out.</summary>
internal sealed class PlanSheetReader
{
    private const string Columns = $"{PlanSheet.IdColumn}, {PlanSheet.RowColumn}, {PlanSheet.BlockColumn}";
    private static readonly char[] Separators = [',', ';', '\t'];
    private readonly string _file;
    private readonly List<PlanRow> _rows = [];
    private string[] _head = [];
    private char _separator;
    private string? _id;
    private int _line;

    private PlanSheetReader(string file) => _file = file;

    /// <summary>Reads a sheet.</summary>
    /// <exception cref="RunFormatException">It is no plan, or a cell is not as it must be.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static PlanSheet Read(string file)
    {
        var reader = new PlanSheetReader(file);
        string text = reader.Text();
        reader._separator = Separators.MaxBy(s => text.AsSpan(0, Math.Max(0, text.AsSpan().IndexOfAny('\r', '\n'))).Count(s));
        try
        {
            using SepReader rows = Sep.New(reader._separator).Reader(o => o with { HasHeader = false, Unescape = true, DisableColCountCheck = true }).FromText(text);
            foreach (SepReader.Row row in rows)
            {
                reader._line = reader._line == 0 ? 1 : row.LineNumberFrom;
                string[] cells = new string[row.ColCount];
                for (int i = 0; i < cells.Length; i++) cells[i] = row[i].ToString().Trim();
                if (cells.All(c => c.Length == 0)) continue;
                if (reader._head.Length == 0) reader.TakeHead(cells);
                else reader.Take(cells);
            }
        }
        catch (Exception e) when (e is InvalidDataException or ArgumentException or NotSupportedException)
        {
            throw new RunFormatException(file, "", e.Message.ReplaceLineEndings(" ").TrimEnd('.'), "lines of separated values", e);
        }

        return reader.Sheet();
    }

    private string Text()
    {
        try
        {
            return new UTF8Encoding(false, throwOnInvalidBytes: true).GetString(File.ReadAllBytes(_file)).TrimStart('\uFEFF');
        }
        catch (DecoderFallbackException e)
        {
            throw new RunFormatException(_file, "", "bytes that are no UTF-8", "a sheet saved as CSV in UTF-8", e);
        }
    }

    private void TakeHead(string[] cells)
    {
        _head = [.. cells.Select(c => c.StartsWith(PlanSheet.FactorPrefix, StringComparison.OrdinalIgnoreCase) ? PlanSheet.FactorPrefix + c[PlanSheet.FactorPrefix.Length..] : c.ToLowerInvariant())];
        foreach (string needed in Columns.Split(", "))
        {
            if (!_head.Contains(needed)) throw Wrong($"no column '{needed}' among {string.Join(", ", cells.Where(c => c.Length > 0))}", $"a plan that acquire plan wrote, with the columns {Columns}");
        }

        if (_head.Where(IsOurs).GroupBy(h => h).FirstOrDefault(g => g.Count() > 1) is { } twice) throw Wrong($"two columns '{twice.Key}'", "one of each");
        if (!_head.Any(IsSetup)) throw Wrong("no column of a set-up", $"one of {string.Join(", ", PlanRow.TextKeys)} or {PlanSheet.FactorPrefix}NAME");
    }

    private void Take(string[] cells)
    {
        string Cell(string column) => Array.IndexOf(_head, column) is >= 0 and int i && i < cells.Length ? cells[i] : "";
        string id = Cell(PlanSheet.IdColumn);
        if (id.Length == 0 || id.Length > 100 || id.Any(char.IsControl)) throw Wrong($"{PlanSheet.IdColumn} '{id}'", "the plan's name as acquire plan wrote it");
        if (_id is not null && id != _id) throw Wrong($"the plan {id} after {_id}", "rows of one plan");
        _id = id;
        int row = Whole(PlanSheet.RowColumn, Cell(PlanSheet.RowColumn));
        if (_rows.Any(r => r.Row == row)) throw Wrong($"row {row} a second time", "a number of its own for each row");
        (double? from, double? to) = (Speed(PlanSheet.FromColumn, Cell(PlanSheet.FromColumn)), Speed(PlanSheet.ToColumn, Cell(PlanSheet.ToColumn)));
        if ((from is null) != (to is null) || from <= to) throw Wrong($"{PlanSheet.FromColumn} '{from}', {PlanSheet.ToColumn} '{to}'", "both or neither, the first above the second");
        var setup = _head.Where(IsSetup).Select(h => Value(h, Cell(h))).ToArray();
        _rows.Add(new PlanRow(row, Whole(PlanSheet.BlockColumn, Cell(PlanSheet.BlockColumn)), setup, from is null ? null : new SpeedRange(from.Value, to!.Value)));
    }

    private PlanSheet Sheet()
    {
        if (_head.Length == 0) throw new RunFormatException(_file, "", "nothing in it", $"a plan that acquire plan wrote, with the columns {Columns}");
        if (_rows.Count == 0) throw new RunFormatException(_file, "", "no row below the heads of the columns", "one row for each run");
        return new PlanSheet(_id!, [.. _head.Where(IsSetup).Select(Key)], _rows) { OtherColumns = [.. _head.Where(h => h.Length > 0 && !IsOurs(h))] };
    }

    private (string Key, string Value) Value(string head, string cell)
    {
        string key = Key(head);
        var options = new CaptureOptions { Port = "none" };
        if (PlanRow.IsText(key)) CaptureSettings.ByKey(key)!.TryRead(cell, options);
        else options.Factors[key] = cell.Length == 0 ? 0 : Number(head, cell);
        if (CaptureOptionsValidator.Problems(options).FirstOrDefault() is { } problem) throw Wrong($"{head} '{cell}'", problem.Allowed);
        return (key, PlanRow.IsText(key) || cell.Length == 0 ? cell : Number(head, cell).ToString("R", CultureInfo.InvariantCulture));
    }

    private static bool IsSetup(string head) => PlanRow.IsText(head) || (head.StartsWith(PlanSheet.FactorPrefix, StringComparison.Ordinal) && head.Length > PlanSheet.FactorPrefix.Length);

    private static bool IsOurs(string head) =>
        IsSetup(head) || head is PlanSheet.IdColumn or PlanSheet.RowColumn or PlanSheet.BlockColumn or PlanSheet.FromColumn or PlanSheet.ToColumn;

    private static string Key(string head) => PlanRow.IsText(head) ? head : head[PlanSheet.FactorPrefix.Length..];

    private double? Speed(string column, string cell)
    {
        if (cell.Length == 0) return null;
        double rpm = Number(column, cell);
        return rpm is > 0 and <= 1e6 ? rpm : throw Wrong($"{column} '{cell}'", "turns a minute above 0");
    }

    private int Whole(string column, string cell) =>
        Number(column, cell) is >= 1 and <= 1e6 and double n && Math.Floor(n) == n ? (int)n : throw Wrong($"{column} '{cell}'", "a whole number from 1 on");

    // Where commas part the columns a comma can be no decimal point.
    private double Number(string column, string cell)
    {
        string text = _separator == ',' ? cell : cell.Replace(',', '.');
        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value) ? value
            : throw Wrong($"{column} '{cell}'", "a number");
    }

    private RunFormatException Wrong(string found, string expected) => new(_file, FormattableString.Invariant($"line {_line}"), found, expected);
}
