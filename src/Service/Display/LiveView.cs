using System.Globalization;
using Acquire.Motion;
using Acquire.Service.Capture;
using Spectre.Console;
using Spectre.Console.Rendering;

namespace Acquire.Service.Display;

/// <summary>Lays a live state out for a terminal: the speed large, below it what it rests on.</summary>
/// <param name="library">Where runs are recorded.</param>
/// <param name="quietS">Seconds without a sign of life after which the source is said to be silent.</param>
internal sealed class LiveView(string library, double quietS = LiveView.UsualQuietS)
{
    /// <summary>Seconds for which a source may be silent; a board says something once a second.</summary>
    public const double UsualQuietS = 2;

    private const int WideColumns = 100;
    private const int LabelColumns = 9;
    private static readonly Style Grey = new(Color.Grey);

    /// <summary>The picture of a state.</summary>
    /// <param name="live">The state.</param>
    /// <param name="columns">The terminal's width.</param>
    /// <param name="unicode">True where the terminal shows half blocks.</param>
    /// <param name="heardAgoS">Seconds since the source last gave a sign of life; NaN where it never did.</param>
    public IRenderable Render(LiveState live, int columns, bool unicode, double heardAgoS)
    {
        var rows = new List<IRenderable> { Text.Empty, Head(live) };
        if (live.Plan is { } plan) rows.Add(new Padder(new Markup($"[bold]plan[/]  {Markup.Escape(Lines.OneLine(plan))}"), new Padding(2, 0, 2, 0)));
        rows.Add(Text.Empty);
        rows.AddRange(Speed(live, columns, unicode));
        rows.Add(Text.Empty);
        List<(string Label, string Value)> run = OfRun(live);
        List<(string Label, string Value)> link = OfLink(live, heardAgoS);
        if (columns >= WideColumns)
        {
            var grid = new Grid { Expand = true };
            int half = columns / 2;
            grid.AddColumn(new GridColumn { Width = half - 2, Padding = new Padding(0, 0, 2, 0) });
            grid.AddColumn(new GridColumn { Width = columns - half - 1, Padding = new Padding(0, 0, 0, 0) });
            grid.AddRow(new Rows(run.Select(f => Fact(f, half - 2))), new Rows(link.Select(f => Fact(f, columns - half - 1))));
            rows.Add(grid);
        }
        else
        {
            rows.AddRange(run.Concat(link).Select(f => Fact(f, columns)));
        }

        if (live.Trouble is { Length: > 0 } trouble)
        {
            rows.Add(Text.Empty);
            rows.Add(new Padder(new Markup($"[yellow bold]trouble[/]  {Markup.Escape(Lines.OneLine(trouble))}"), new Padding(2, 0, 2, 0)));
        }

        return new Rows(rows);
    }

    private static Markup Head(LiveState live)
    {
        string style = live.Phase switch
        {
            RunPhase.Lost => "yellow bold",
            RunPhase.Waiting => live.LinkUp ? "bold" : "yellow bold",
            _ => "bold",
        };
        string since = double.IsFinite(live.SinceReleaseS) ? $"   {Numbers.Clock(live.SinceReleaseS)} [grey]since release[/]" : "";
        return Line($"  [{style}]{Markup.Escape(LiveWords.Phase(live))}[/]{since}");
    }

    private static IEnumerable<IRenderable> Speed(LiveState live, int columns, bool unicode)
    {
        string value = double.IsFinite(live.Rpm) ? Digits(live) : Numbers.None;
        string unit = "[grey]rpm[/]";
        string doubt = double.IsFinite(live.URpm) && double.IsFinite(live.Rpm) ? $"[grey]±[/] {Numbers.Uncertainty(live.URpm)}" : "";
        string slowing = $"[grey]{LiveWords.Slowing(live.DecelRpmPerS)}[/]";
        string style = live.Phase == RunPhase.Lost ? "grey" : "bold";
        if (!unicode)
        {
            yield return Line($"  [{style}]{value}[/] {unit}  {doubt}  {slowing}");
            yield break;
        }

        string[] big = BigDigits.Draw(value);
        string[] beside = [doubt, slowing, unit];
        bool fits = big[0].Length + 30 <= columns;
        for (int i = 0; i < BigDigits.Lines; i++) yield return Line($"  [{style}]{big[i]}[/]{(fits ? "  " + beside[i] : "")}");
        if (!fits) yield return Line($"  {unit}  {doubt}  {slowing}");
    }

    /// <summary>At most one decimal: more would only flicker.</summary>
    private static string Digits(LiveState live) =>
        live.Rpm.ToString(live.URpm > 1 || live.Rpm >= 10_000 ? "F0" : "F1", CultureInfo.InvariantCulture);

    /// <summary>What is known of the run; while nothing spins, only that pulses arrive, which tells whether the sensor sees anything.</summary>
    private static List<(string Label, string Value)> OfRun(LiveState live)
    {
        bool none = live.Phase == RunPhase.Waiting;
        return
        [
            ("peak", double.IsFinite(live.PeakRpm) ? $"{live.PeakRpm.ToString("F0", CultureInfo.InvariantCulture)} rpm" : Numbers.None),
            .. live.Forecast is { } ahead ? [("ends in", LiveWords.Ends(ahead))] : Array.Empty<(string, string)>(),
            ("turns", none ? Numbers.None : Numbers.Count(Math.Floor(live.Turns))),
            ("marks", none ? Numbers.None : $"{Numbers.Count(live.Marks)} seen, {Numbers.Count(live.Missed)} missed"),
            ("pulses", none
                ? $"{Numbers.Count(live.Counts.Received)} since the capture began"
                : $"{Numbers.Count(live.Marks + live.Extra)}, of these {Numbers.Count(live.Extra)} extra"),
            ("signal", double.IsFinite(live.LampHz) ? LiveWords.Lamp(live.LampHz) : LiveWords.Quality(live.SignalQuality)),
        ];
    }

    private List<(string Label, string Value)> OfLink(LiveState live, double heardAgoS)
    {
        string heard = double.IsNaN(heardAgoS) ? ", not heard yet" : heardAgoS > quietS ? $", silent for {Numbers.Clock(heardAgoS)}" : "";
        string last = live.LastRun is null ? "none yet" : $"{Path.GetFileName(Path.TrimEndingDirectorySeparator(live.LastRun))} ({live.FinishedRuns})";
        return
        [
            ("link", (live.LinkUp ? "up" : "down") + heard),
            ("source", live.Source.Length == 0 ? Numbers.None : live.Source),
            ("losses", LiveWords.Losses(live)),
            .. live.Air.Select(a => ("air", LiveWords.Air(a))),
            ("library", $"{library}, journal {Numbers.Bytes(live.JournalBytes)}"),
            ("last run", last),
        ];
    }

    /// <summary>A label and its value in one line, the value cut where it is too long.</summary>
    private static Paragraph Fact((string Label, string Value) fact, int columns)
    {
        int room = Math.Max(1, columns - LabelColumns - 3);
        string value = Lines.OneLine(fact.Value);
        if (value.Length > room) value = value[..(room - 1)] + "…";
        return new Paragraph().Append("  " + fact.Label.PadRight(LabelColumns), Grey).Append(" " + value);
    }

    private static Markup Line(string markup) => new(markup) { Overflow = Overflow.Ellipsis };
}
