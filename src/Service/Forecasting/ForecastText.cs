using System.Globalization;
using Acquire.Results.Forecasting;
using Acquire.Service.Display;

namespace Acquire.Service.Forecasting;

/// <summary>A forecast for people.</summary>
/// <param name="of">The forecast.</param>
/// <param name="call">What was asked.</param>
internal sealed class ForecastText(RunForecast of, ForecastCall call)
{
    /// <summary>Headings of the table of bands; &gt; sets a column flush right.</summary>
    public static readonly string[] BandHeadings = ["band/rpm", ">time", "95 % interval", ">share/%", ">10 % less loss there", ">dry/%", ">viscous/%", ">air/%"];

    private readonly IReadOnlyList<BandShare> _bands = of.Forecast.Bands(of.StartRpm);

    /// <summary>The forecast.</summary>
    public RunForecast Of => of;

    /// <summary>The bands.</summary>
    public IReadOnlyList<BandShare> Bands => _bands;

    /// <summary>Speed at which the spin that was asked for begins, turns a minute.</summary>
    public double AskedRpm => call.StartRpm ?? of.StartRpm;

    /// <summary>How long that spin would last; null where none was asked for.</summary>
    public Spread? AskedS { get; } = call.Words.Length == 0 ? null : of.Forecast.WholeS(call.StartRpm ?? of.StartRpm, call.Change);

    /// <summary>By how much longer than this one.</summary>
    public Spread? GainS { get; } = call.Words.Length == 0 ? null : of.Forecast.GainS(call.StartRpm ?? of.StartRpm, call.Change, of.StartRpm);

    /// <summary>The same of this spin, from its release.</summary>
    public Spread WholeS { get; } = of.Forecast.WholeS(of.StartRpm, SpinChange.None);

    /// <summary>What was asked, in words.</summary>
    public string Asked => call.Words;

    /// <summary>What it is.</summary>
    public string Title => of.IsOver ? $"{of.Run.Name}: the spin is over" : $"{of.Run.Name}: forecast as it stood {Numbers.Clock(of.AtS)} after the release";

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(Title);
        output.WriteLine();
        foreach ((string label, string value) in Facts()) output.WriteLine($"  {label,-10} {value}");
        output.WriteLine();
        CompareText.WriteTable(surroundings, BandHeadings, BandRows());
        output.WriteLine();
        foreach (string remark in Remarks()) output.WriteLine(remark);
        output.Flush();
    }

    /// <summary>The figures with what they are.</summary>
    public IEnumerable<(string Label, string Value)> Facts()
    {
        SpinForecast forecast = of.Forecast;
        Spread end = forecast.EndRpm;
        if (of.IsOver)
        {
            yield return ("lasted", Numbers.ClockTenths(of.AtS));
        }
        else
        {
            Spread left = of.RemainingS;
            yield return ("ends in", $"{ForecastWords.Time(left.Median)}, 95 % interval {ForecastWords.Interval(left)}");
            yield return ("spin time", $"{ForecastWords.Time(of.AtS + left.Median)}, 95 % interval {ForecastWords.Time(of.AtS + left.Low)} to {ForecastWords.Time(of.AtS + left.High)}");
            yield return ("speed then", Text($"{forecast.NowRpm:0.0} rpm"));
        }

        string interval = end.High - end.Low > 0.5 ? Text($" ({end.Low:0} to {end.High:0})") : "";
        yield return ("end", Text($"{end.Median:0} rpm{interval}, {ForecastWords.Of(forecast.End)}"));
        if (AskedS is not { } asked || GainS is not { } gain) yield break;
        yield return ("asked", $"{Asked}: {ForecastWords.Time(asked.Median)}, 95 % interval {ForecastWords.Interval(asked)}");
        yield return ("", $"{ForecastWords.Gain(gain.Median)} beside this spin from {of.StartRpm.ToString("0", CultureInfo.InvariantCulture)} rpm, 95 % interval {ForecastWords.Gain(gain.Low)} to {ForecastWords.Gain(gain.High)}");
    }

    /// <summary>A row for each band.</summary>
    public IEnumerable<string[]> BandRows()
    {
        double whole = _bands.Sum(b => b.TimeS.Median);
        return _bands.Select(b => new[]
        {
            Text($"{b.Band.FromRpm:0}–{b.Band.ToRpm:0}"), ForecastWords.Time(b.TimeS.Median), ForecastWords.Interval(b.TimeS), Text($"{100 * b.TimeS.Median / whole:0.0}"),
            Text($"{ForecastWords.Gain(b.TenthLessS)} ({100 * b.TenthLessS / whole:0.0} %)"), Percent(b.Dry), Percent(b.Viscous), Percent(b.Air),
        });
    }

    /// <summary>What the numbers are.</summary>
    public IEnumerable<string> Remarks()
    {
        BandShare most = _bands.MaxBy(b => b.TenthLessS)!;
        yield return Text($"What pays most: less loss from {most.Band.FromRpm:0} to {most.Band.ToRpm:0} rpm. A gain in a band lasts only while the spin is in it.");
        yield return "Dry is contact at the tip, viscous what goes as the speed, air what goes as its powers 1.5 to 2; where the spin does not tell them apart yet, the mean of what is possible.";
        if (ForecastWords.Of(of.Forecast.Use) is { Length: > 0 } use) yield return use;
        if (!of.IsOver) yield return "The interval bears which laws are still possible, none with a negative loss, and the spread of the end's speed; it holds while nothing disturbs the spin.";
        if (AskedS is null) yield break;
        if (AskedRpm > of.Forecast.Evidence.FirstRadPerS * 30 / Math.PI * 1.02)
            yield return "The asked spin begins above the speeds seen: there the law is carried on upwards.";
        if (call.Change.InertiaTimes != 1 || call.Change.MassTimes != 1 || call.Change.RadiusTimes != 1)
        {
            yield return Text($"Another body: all losses go as one over the inertia (times {call.Change.InertiaTimes:0.###}); dry contact at the tip as the mass (times {call.Change.MassTimes:0.###}) to the power {call.Change.TipPower:0.###}, by Hertz's contact of a round tip unless --tip-power says otherwise;");
            yield return Text($"  laminar, turbulent and pressure drag as the radius (times {call.Change.RadiusTimes:0.###}) to the powers 4, 4.6 and 5, those of discs of one shape; viscous and eddy-current loss as it was.");
        }

        yield return "Another spin may also differ as spins of one set-up do: acquire compare tells their repeatability.";
    }

    private static string Percent(double share) => (100 * share).ToString("0", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
