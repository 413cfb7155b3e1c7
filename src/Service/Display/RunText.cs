using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>A run in words.</summary>
internal static class RunText
{
    private const int LabelColumns = 12;

    /// <summary>Writes a run to standard output.</summary>
    public static void Write(Surroundings surroundings, string name, RunDescriptor run, IReadOnlyList<RunEvent> events, IReadOnlyList<EnvironmentPoint> air)
    {
        IAnsiConsole console = Terminals.Make(surroundings.Out, surroundings.OutIsTerminal, surroundings);
        console.Write(new Text(name + "\n", new Style(decoration: Decoration.Bold)));
        foreach ((string title, (string Label, string Value)[] facts) in Sections(run, air)) Section(console, title, facts);
        Section(console, "events", [.. events.Select(e => (Numbers.ClockTenths(e.TimeS), e.Detail.Length > 0 ? $"{e.Event}: {e.Detail}" : e.Event))]);
        console.WriteLine();
    }

    private static void Section(IAnsiConsole console, string title, (string Label, string Value)[] facts)
    {
        if (facts.Length == 0) return;
        console.WriteLine();
        console.MarkupLine($"[bold]{title}[/]");
        int width = Math.Max(LabelColumns, facts.Max(f => f.Label.Length));
        foreach ((string label, string value) in facts)
            console.MarkupLine($"  [grey]{Markup.Escape(label.PadRight(width))}[/] {Markup.Escape(Lines.OneLine(value))}");
    }

    /// <summary>All there is to say of a run but its events, by sections.</summary>
    public static IEnumerable<(string Title, (string Label, string Value)[] Facts)> Sections(RunDescriptor run, IReadOnlyList<EnvironmentPoint> air)
    {
        yield return ("result", Result(run));
        if (run.Budget is { } budget) yield return ("uncertainty of the spin time", Budget(budget));
        yield return ("set-up", Setup(run.Setup, run.Plan));
        if (run.Edits is { Count: > 0 } edits)
            yield return ("edits (UTC)", [.. edits.Select(e => (e.At.UtcDateTime.ToString("yyyy-MM-dd HH:mm:ss", CultureInfo.InvariantCulture), $"{e.What}: {e.From ?? "none"} → {e.To ?? "none"}"))]);
        yield return ("air", Air(run.Air, air));
        yield return ("source",
        [
            ("kind", run.Source.Kind),
            ("detail", run.Source.Detail),
            ("counter", Number(run.Source.TickHz) + " ticks a second"),
            ("marks", Marks(run.Source)),
            .. MarksSeen(run),
        ]);
        yield return ("clock",
        [
            ("rate", $"{Measured(run.Clock.RatePpm, run.Clock.URatePpm)} ppm off its nominal rate"),
            ("host clock", run.Clock.HostClock),
        ]);
        yield return ("counts",
        [
            ("pulses", $"{Count(run.Counts.Received)} received: {Count(run.Counts.Marks)} marks, {Count(run.Counts.Extra)} extra"),
            ("missed", $"{Count(run.Counts.Missed)} marks passed unseen, gaps: {Count(run.Counts.Gaps)}"),
            ("losses", $"on the line {Count(run.Counts.LostOnLine)}, by the board {Count(run.Counts.DroppedByBoard)}; bad lines {Count(run.Counts.BadLines)}"),
        ]);
    }

    private static (string, string)[] Result(RunDescriptor run) =>
    [
        ("started", run.StartedAt.UtcDateTime.ToString("yyyy-MM-dd HH:mm:ss.fff", CultureInfo.InvariantCulture) + " UTC"),
        ("spin time", double.IsFinite(run.Result.SpinTimeS)
            ? $"{Numbers.ClockTenths(run.Result.SpinTimeS)} ({Measured(run.Result.SpinTimeS, run.Result.USpinTimeS)} s)"
            : Numbers.None),
        ("peak", Measured(run.Result.PeakRpm, run.Result.UPeakRpm) + " rpm"),
        ("release", Numbers.ClockTenths(run.Result.ReleaseS) + " after the first pulse"),
        ("last seen", Numbers.Measured(run.Result.LastRpm, double.NaN) + " rpm"),
        .. run.Wobble is { } wobble ? [("wobble", RunWords.Wobble(wobble, run.Result.PeakRpm))] : Array.Empty<(string, string)>(),
        ("end", run.EndReason),
        .. run.Spoilt is { } spoilt ? [("spoilt", spoilt + " (left out of compare, sweep, best and plan)")] : Array.Empty<(string, string)>(),
        .. run.Stop is { Witnessed: false } stop ? [("unseen", RunWords.EndUnseen(stop))] : Array.Empty<(string, string)>(),
        ("written by", run.Software),
    ];

    private static (string, string)[] Budget(RunBudget budget) =>
    [
        ("clock", Numbers.Uncertainty(budget.ClockS) + " s, from the rate of the board's clock"),
        ("release", Numbers.Uncertainty(budget.ReleaseS) + " s, from when the hand let go"),
        ("stop", Numbers.Uncertainty(budget.StopS) + " s, from when the spin ended"),
    ];

    private static (string, string)[] Setup(RunSetup setup, RunPlan? plan) =>
    [
        .. new (string Label, string Value)[]
        {
            ("top", setup.Top), ("base", setup.Base), ("cover", setup.Cover), ("operator", setup.Operator), ("note", setup.Note),
        }.Where(f => f.Value.Length > 0),
        .. setup.Factors.Select(f => (f.Key, Number(f.Value))),
        .. plan is null ? Array.Empty<(string, string)>() : [("plan", FormattableString.Invariant($"{plan.Id}, row {plan.Row}, block {plan.Block}"))],
    ];

    private static (string, string)[] Air(RunAir? from, IReadOnlyList<EnvironmentPoint> air) =>
    [
        .. new (string Label, string Value)[]
        {
            ("temperature", Range([.. air.Select(p => p.TemperatureC)], "0.0", "°C")),
            ("pressure", Range([.. air.Select(p => p.PressureHPa)], "0.0", "hPa")),
            ("humidity", Range([.. air.Select(p => p.HumidityPct)], "0", "%")),
        }.Where(f => f.Value.Length > 0),
        .. from is null ? Array.Empty<(string, string)>()
            : [("from", from.Source + FormattableString.Invariant($", {Count(from.Readings)} read") + (from.LeftOut > 0 ? $", {Count(from.LeftOut)} left out as faults" : ""))],
    ];

    // The mean, and the least and the most where they differ.
    private static string Range(IEnumerable<double> values, string format, string unit)
    {
        double[] known = [.. values.Where(double.IsFinite)];
        if (known.Length == 0) return "";
        string Text(double value) => value.ToString(format, CultureInfo.InvariantCulture);
        string span = Text(known.Min()) == Text(known.Max()) ? "" : $", from {Text(known.Min())} to {Text(known.Max())}";
        return $"{Text(known.Average())} {unit}{span}";
    }

    private static string Marks(RunSource source)
    {
        string offsets = string.Join(", ", source.MarkOffsets.Select(o => o.ToString("0.####", CultureInfo.InvariantCulture)));
        return source.MarksPerTurn == 1 ? "1" : $"{source.MarksPerTurn}, at {offsets} of a turn";
    }

    private static (string, string)[] MarksSeen(RunDescriptor run) => run.Counts.MarksSeen is > 0 and int seen && seen != run.Source.MarksPerTurn
        ? [("marks seen", $"{seen}: --marks {run.Source.MarksPerTurn} looks wrong")]
        : [];

    private static string Measured(double value, double u) => $"{Numbers.Measured(value, u)} ± {Numbers.Uncertainty(u)}";

    private static string Number(double value) => value.ToString("#,0.######", CultureInfo.InvariantCulture);

    private static string Count(long count) => Numbers.Count(count);
}
