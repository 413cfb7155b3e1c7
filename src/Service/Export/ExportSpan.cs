namespace Acquire.Service.Export;

/// <summary>What part of a run is wanted, in seconds since its release; what is negative is the launch.</summary>
/// <param name="FromS">The first moment; null for the run's own beginning, of captions for the release.</param>
/// <param name="ToS">The last; null for the run's end.</param>
internal readonly record struct ExportSpan(double? FromS, double? ToS)
{
    /// <summary>Whether a moment is within.</summary>
    /// <param name="sinceReleaseS">Seconds since the release.</param>
    public bool Holds(double sinceReleaseS) => !(sinceReleaseS < FromS) && !(sinceReleaseS > ToS);
}
