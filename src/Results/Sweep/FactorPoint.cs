using Acquire.Results.Comparison;

namespace Acquire.Results.Sweep;

/// <summary>A run of a sweep.</summary>
/// <param name="Run">Its name.</param>
/// <param name="Value">The factor's value.</param>
/// <param name="Time">The logarithm of its decay time.</param>
public readonly record struct FactorPoint(string Run, double Value, LogTime Time);

/// <summary>The runs of one value of the factor.</summary>
/// <param name="Value">The value.</param>
/// <param name="Runs">How many.</param>
/// <param name="MeanS">Their mean decay time (of the logarithms), s.</param>
/// <param name="LowS">Lower end of its 95 % interval, s; NaN where no scatter is known.</param>
/// <param name="HighS">Upper end.</param>
/// <param name="MayBeBest">Whether the true best of the values tried may be this one.</param>
public sealed record FactorLevel(double Value, int Runs, double MeanS, double LowS, double HighS, bool MayBeBest)
{
    /// <summary>The gain over the baseline; null where there is none, or where it is these runs themselves.</summary>
    public Change? Gain { get; init; }
}

/// <summary>A point of a fitted curve with its 95 % band.</summary>
/// <param name="Value">The factor.</param>
/// <param name="TimeS">Decay time, s.</param>
/// <param name="LowS">Lower edge of the band for the curve, s.</param>
/// <param name="HighS">Upper edge.</param>
public readonly record struct CurvePoint(double Value, double TimeS, double LowS, double HighS);
