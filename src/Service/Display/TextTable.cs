using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>A table on standard output: in columns on a terminal that is wide enough, a few lines a row on a
/// narrow one, in plain columns of any width elsewhere. What is empty is left out on a terminal.</summary>
internal sealed class TextTable(params string[] headings)
{
    private const string Empty = "-";
    private const int Gap = 2;
    private static readonly Style Grey = new(Color.Grey);
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

    /// <summary>Writes it for a terminal.</summary>
    internal void WriteFitted(IAnsiConsole console)
    {
        int[] shown = [.. Enumerable.Range(0, headings.Length).Where(i => _rows.Any(r => r[i].Length > 0))];
        int width = shown.Sum(i => Math.Max(headings[i].Length, _rows.Max(r => r[i].Length)) + Gap);
        if (width > console.Profile.Width)
        {
            foreach (string[] row in _rows) WriteRecord(console, row);
            return;
        }

        Table table = new Table().Border(TableBorder.None);
        foreach (int i in shown)
        {
            var column = new TableColumn(new Text(headings[i], Grey)) { Padding = new Padding(0, 0, Gap, 0) };
            table.AddColumn(_right.Contains(headings[i]) ? column.RightAligned() : column);
        }

        foreach (string[] row in _rows) table.AddRow(shown.Select(i => new Text(row[i])));
        console.Write(table);
    }

    /// <summary>A row where columns would be too narrow to read: its first cell, which names it and must stay whole to be copied, and below
    /// it the others with their headings, as many in a line as fit.</summary>
    private void WriteRecord(IAnsiConsole console, string[] row)
    {
        console.Write(new Text(row[0] + "\n", new Style(decoration: Decoration.Bold)));
        var line = new Paragraph();
        int used = 0;
        for (int i = 1; i < row.Length; i++)
        {
            if (row[i].Length == 0) continue;
            int length = Gap + headings[i].Length + 1 + row[i].Length;
            if (used > 0 && used + length > console.Profile.Width)
            {
                line.Append("\n");
                used = 0;
            }

            line.Append(new string(' ', Gap) + headings[i], Grey).Append(" " + row[i]);
            used += length;
        }

        console.Write(line.Append("\n"));
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
