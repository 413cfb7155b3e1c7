using Acquire.Results.Forecasting;

namespace Acquire.Service.Forecasting;

/// <summary>When the spin under way will end, as it stood at a moment; for the display and for whoever asks for the status.</summary>
/// <param name="AtS">The moment, seconds after the release.</param>
/// <param name="RemainingS">Time left then, seconds, as likely more as less.</param>
/// <param name="LowS">In 2.5 of 100 cases it is less than this.</param>
/// <param name="HighS">In 2.5 of 100 cases it is more than this.</param>
/// <param name="EndRpm">Speed at the end, turns a minute.</param>
/// <param name="EndFrom">Where that is from: <c>earlierRuns</c> or <c>assumed</c>; of an answer also <c>rotor</c> or <c>given</c>.</param>
/// <param name="Speeds">When the body will pass some speeds, falling.</param>
public sealed record LiveForecast(double AtS, double RemainingS, double LowS, double HighS, double EndRpm, string EndFrom, IReadOnlyList<LivePassing> Speeds)
{
    private const int Places = 32;
    private const double Highest = 0.98;
    private const double Lowest = 0.35;

    /// <summary>Takes it from a forecast.</summary>
    public static LiveForecast Of(SpinForecast forecast)
    {
        ArgumentNullException.ThrowIfNull(forecast);
        Spread left = forecast.RemainingS;
        (double high, double low) = (Highest * forecast.NowRpm, Lowest * Math.Min(forecast.End.Rpm, forecast.NowRpm));
        IEnumerable<double> rpm = Enumerable.Range(0, Places).Select(i => high * Math.Pow(low / high, i / (Places - 1.0)));
        return new LiveForecast(
            forecast.Evidence.ToS, left.Median, left.Low, left.High, forecast.EndRpm.Median, ForecastWords.Key(forecast.End.Basis),
            [.. rpm.Select(r => forecast.UntilS(r) is var time ? new LivePassing(r, time.Median, time.Low, time.High) : default)]);
    }

    /// <summary>The same at a later moment: so much less is left.</summary>
    /// <param name="sinceReleaseS">The moment, seconds after the release.</param>
    public LiveForecast At(double sinceReleaseS)
    {
        double passed = Math.Max(0, sinceReleaseS - AtS);
        double Less(double seconds) => Math.Max(0, seconds - passed);
        return double.IsFinite(passed)
            ? this with
            {
                AtS = AtS + passed,
                RemainingS = Less(RemainingS),
                LowS = Less(LowS),
                HighS = Less(HighS),
                Speeds = [.. Speeds.Select(s => new LivePassing(s.Rpm, Less(s.RemainingS), Less(s.LowS), Less(s.HighS)))],
            } : this;
    }

    /// <summary>The same with another end; null where it is not between the speeds that are told.</summary>
    /// <param name="end">The speed at which it ends.</param>
    public LiveForecast? Ending(EndSpeed end)
    {
        ArgumentNullException.ThrowIfNull(end);
        if (Speeds.Count == 0) return null;
        double limit = Speeds[0].Rpm;
        (double early, double late) = (end.Below(0.975, limit), end.Below(0.025, limit));
        if (!(end.Rpm < limit) || late < Speeds[^1].Rpm) return null;
        return this with
        {
            RemainingS = Between(end.Below(0.5, limit), s => s.RemainingS),
            LowS = Between(early, s => s.LowS),
            HighS = Between(late, s => s.HighS),
            EndRpm = end.Below(0.5, limit),
            EndFrom = ForecastWords.Key(end.Basis),
        };
    }

    private double Between(double rpm, Func<LivePassing, double> of)
    {
        int i = 1;
        while (i < Speeds.Count - 1 && Speeds[i].Rpm > rpm) i++;
        double share = Math.Log(Speeds[i - 1].Rpm / rpm) / Math.Log(Speeds[i - 1].Rpm / Speeds[i].Rpm);
        return of(Speeds[i - 1]) + (share * (of(Speeds[i]) - of(Speeds[i - 1])));
    }
}

/// <summary>When the body will pass a speed, were it to stand so long.</summary>
/// <param name="Rpm">The speed, turns a minute.</param>
/// <param name="RemainingS">Time until then, seconds.</param>
/// <param name="LowS">In 2.5 of 100 cases it is less than this.</param>
/// <param name="HighS">In 2.5 of 100 cases it is more than this.</param>
public readonly record struct LivePassing(double Rpm, double RemainingS, double LowS, double HighS);
