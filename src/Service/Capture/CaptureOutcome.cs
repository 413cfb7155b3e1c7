namespace Acquire.Service.Capture;

/// <summary>What came of a capture.</summary>
/// <param name="Runs">Folders of the runs that were finished, in order.</param>
/// <param name="Failed">True where a run could not be written; its journal is kept.</param>
public sealed record CaptureOutcome(IReadOnlyList<string> Runs, bool Failed);
