namespace Acquire.Service.Forecasting;

/// <summary>When the spin under way will end, as it stood at a moment; for the display and for whoever asks for the status.</summary>
/// <param name="AtS">The moment, seconds after the release.</param>
/// <param name="RemainingS">Time left then, seconds, as likely more as less.</param>
/// <param name="LowS">In 2.5 of 100 cases it is less than this.</param>
/// <param name="HighS">In 2.5 of 100 cases it is more than this.</param>
/// <param name="EndRpm">Speed at the end, turns a minute.</param>
/// <param name="EndFrom">Where that is from: <c>earlierRuns</c> or <c>assumed</c>.</param>
public sealed record LiveForecast(double AtS, double RemainingS, double LowS, double HighS, double EndRpm, string EndFrom)
{
    /// <summary>The same at a later moment: so much less is left.</summary>
    /// <param name="sinceReleaseS">The moment, seconds after the release.</param>
    public LiveForecast At(double sinceReleaseS)
    {
        double passed = Math.Max(0, sinceReleaseS - AtS);
        return double.IsFinite(passed)
            ? this with { AtS = AtS + passed, RemainingS = Math.Max(0, RemainingS - passed), LowS = Math.Max(0, LowS - passed), HighS = Math.Max(0, HighS - passed) } : this;
    }
}
