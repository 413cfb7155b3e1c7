using System.Globalization;
using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Acquire.Service.Plots;
using ScottPlot;

namespace Acquire.Service.Reports;

/// <summary>One self-contained page: headings, text, tables and pictures, light or dark as its reader has it; nothing that runs, nothing from elsewhere.</summary>
internal sealed partial class HtmlReport(string title)
{
    private const string Style = """
        :root { color-scheme: light dark; --ink: #1b2327; --quiet: #5c6468; --line: #d5dbde; --paper: #fff; }
        @media (prefers-color-scheme: dark) { :root { --ink: #dfe5e8; --quiet: #9aa5ab; --line: #3a4449; --paper: #171b1e; } }
        body { background: var(--paper); color: var(--ink); font: 16px/1.5 sans-serif; max-width: 62rem; margin: 2rem auto; padding: 0 1rem; }
        h1 { font-size: 1.5rem; font-weight: 600; } h2 { font-size: 1.15rem; font-weight: 600; margin-top: 2.2rem; }
        table { border-collapse: collapse; font-variant-numeric: tabular-nums; margin: 1rem 0; display: block; overflow-x: auto; }
        th { color: var(--quiet); font-weight: normal; text-align: left; } th, td { border-bottom: 1px solid var(--line); padding: .2rem .9rem .2rem 0; }
        th.n, td.n { text-align: right; white-space: nowrap; } figure { margin: 1rem 0; overflow-x: auto; } figcaption, footer { color: var(--quiet); font-size: .9rem; }
        figure svg { width: 100%; min-width: 36rem; height: auto; } footer { margin-top: 3rem; }
        @media (prefers-color-scheme: dark) { figure svg { filter: invert(.91) hue-rotate(180deg); } }
        """;

    private readonly StringBuilder _body = new();
    private int _pictures;

    /// <summary>Begins a section.</summary>
    public HtmlReport Section(string heading) => Add($"<h2>{Text(heading)}</h2>");

    /// <summary>Adds a paragraph.</summary>
    public HtmlReport Paragraph(string text) => Add($"<p>{Text(text)}</p>");

    /// <summary>Adds a table.</summary>
    /// <param name="headings">A heading a column; one that begins with <c>&gt;</c> sets its column flush right.</param>
    /// <param name="rows">The rows, with a cell for each heading.</param>
    public HtmlReport Table(IReadOnlyList<string> headings, IEnumerable<IReadOnlyList<string>> rows)
    {
        bool[] right = [.. headings.Select(h => h.StartsWith('>'))];
        string Row(string tag, IReadOnlyList<string> cells) =>
            "<tr>" + string.Concat(cells.Select((c, i) => $"<{tag}{(right[i] ? " class=\"n\"" : "")}>{Text(c)}</{tag}>")) + "</tr>";
        Add("<table><thead>" + Row("th", [.. headings.Select(h => h.TrimStart('>'))]) + "</thead><tbody>");
        foreach (IReadOnlyList<string> row in rows) Add(Row("td", row));
        return Add("</tbody></table>");
    }

    /// <summary>Adds a picture of one or more plots under each other.</summary>
    /// <param name="caption">What it shows.</param>
    /// <param name="panels">The plots from the top, each with its height in points.</param>
    public HtmlReport Picture(string caption, params IReadOnlyList<(Plot Plot, int Rows)> panels)
    {
        _pictures++;
        string svg = Names().Replace(Light(PlotFile.Svg(panels)), m => $"{m.Groups[1].Value}p{_pictures}-{m.Groups[2].Value}");
        int rows = panels.Sum(p => p.Rows);
        svg = SizeOfSvg().Replace(svg, $"<svg role=\"img\" aria-label=\"{Text(caption)}\" viewBox=\"0 0 {PlotFile.Columns} {rows}\"", 1);
        return Add($"<figure>{svg}<figcaption>{Text(caption)}</figcaption></figure>");
    }

    /// <summary>Adds data for programs, which no reader of the page sees and none runs.</summary>
    /// <param name="name">What it is found by.</param>
    /// <param name="json">A JSON document without the sign &lt;.</param>
    public HtmlReport Data(string name, string json) => Add($"<script type=\"application/json\" id=\"{name}\">{json}</script>");

    /// <summary>What has been added so far, as it stands in the page.</summary>
    public string Body => _body.ToString().ReplaceLineEndings("\n");

    /// <summary>Writes the page.</summary>
    public void Write(string file)
    {
        using FileStream output = File.Create(file);
        output.Write(Encoding.UTF8.GetBytes(Text()));
    }

    /// <summary>The page.</summary>
    public string Text() => $"""
        <!DOCTYPE html>
        <html lang="en">
        <head>
        <meta charset="utf-8">
        <meta name="viewport" content="width=device-width, initial-scale=1">
        <title>{Text(title)}</title>
        <style>
        {Style}
        </style>
        </head>
        <body>
        <h1>{Text(title)}</h1>
        {_body}<footer>Written by {Text(ProgramVersion.Software)}.</footer>
        </body>
        </html>

        """.ReplaceLineEndings("\n");

    /// <summary>Adds what is part of a page already.</summary>
    internal HtmlReport Add(string html)
    {
        _body.Append(html).Append('\n');
        return this;
    }

    // A tenth of a point is finer than a screen; what the drawing library writes besides makes a page three times as long.
    private static string Light(string svg) => Nothing().Replace(Blanks().Replace(Fine().Replace(Limits().Replace(svg, ""), m =>
        double.Parse(m.Value, CultureInfo.InvariantCulture).ToString("0.#", CultureInfo.InvariantCulture)), "><"), "");

    private static string Text(string text) => WebUtility.HtmlEncode(text);

    // Pictures of one page must not share the names of their parts.
    [GeneratedRegex("(id=\"|url\\(#|href=\"#)([^\"\\)]+)")]
    private static partial Regex Names();

    [GeneratedRegex(@"\d+\.\d{2,}")]
    private static partial Regex Fine();

    [GeneratedRegex(" stroke-(miterlimit|linejoin|linecap)=\"(4|miter|butt)\"")]
    private static partial Regex Limits();

    [GeneratedRegex(@"<path[^>]* d=""M(\S+ \S+)L\1""/>")]
    private static partial Regex Nothing();

    [GeneratedRegex(@">\s+<")]
    private static partial Regex Blanks();

    [GeneratedRegex("<svg(?=[^>]*>)")]
    private static partial Regex SizeOfSvg();
}
