using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>A table on standard output: fitted to a terminal, in plain wide columns elsewhere. Columns in which nothing stands are left out
/// on a terminal.</summary>
internal sealed class TextTable(params string[] headings)
{
    private const string Empty = "-";
    private readonly List<string[]> _rows = [];
    private readonly HashSet<string> _right = [];

    /// <summary>Sets numbers flush right.</summary>
    public void AlignRight(params string[] columns) => _right.UnionWith(columns);

    /// <summary>Adds a row with a cell for each heading.</summary>
    public void Add(params string[] cells)
    {
        if (cells.Length != headings.Length) throw new ArgumentException("A row has one cell for each heading.", nameof(cells));
        _rows.Add([.. cells.Select(Lines.OneLine)]);
    }

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        if (surroundings.OutIsTerminal) WriteFitted(Terminals.Make(surroundings.Out, isTerminal: true, surroundings));
        else WritePlain(surroundings.Out);
    }

    private void WriteFitted(IAnsiConsole console)
    {
        int[] shown = [.. Enumerable.Range(0, headings.Length).Where(i => _rows.Any(r => r[i].Length > 0))];
        Table table = new Table().Border(TableBorder.None);
        foreach (int i in shown)
        {
            var column = new TableColumn(new Text(headings[i], new Style(Color.Grey))) { Padding = new Padding(0, 0, 2, 0) };
            table.AddColumn(_right.Contains(headings[i]) ? column.RightAligned() : column);
        }

        foreach (string[] row in _rows) table.AddRow(shown.Select(i => new Text(row[i])));
        console.Write(table);
    }

    /// <summary>Each cell in its column, two blanks between columns at the least, a dash where a cell is empty.</summary>
    private void WritePlain(TextWriter output)
    {
        string[][] all = [headings, .. _rows.Select(r => r.Select(c => c.Length == 0 ? Empty : c).ToArray())];
        int[] widths = [.. Enumerable.Range(0, headings.Length).Select(i => all.Max(r => r[i].Length))];
        foreach (string[] row in all)
        {
            IEnumerable<string> cells = row.Select((c, i) => _right.Contains(headings[i]) ? c.PadLeft(widths[i]) : c.PadRight(widths[i]));
            output.Write(string.Join("  ", cells).TrimEnd() + "\n");
        }

        output.Flush();
    }
}
