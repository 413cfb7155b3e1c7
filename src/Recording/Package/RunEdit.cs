namespace Acquire.Recording;

/// <summary>One later change to what a run's descriptor says of its set-up, or to its folder's name; what was measured is never changed.</summary>
/// <param name="At">When, UTC.</param>
/// <param name="What"><c>top</c>, <c>base</c>, <c>cover</c>, <c>operator</c>, <c>note</c>, <c>factors.</c> and a name, <c>spoilt</c> (why the run is not to count) or <c>folder</c>.</param>
/// <param name="From">What it was; null where there was none.</param>
/// <param name="To">What it became; null where it was taken away.</param>
public sealed record RunEdit(DateTimeOffset At, string What, string? From, string? To)
{
    /// <summary>The word for the folder's name.</summary>
    public const string Folder = "folder";

    /// <summary>The word for why the run is not to count.</summary>
    public const string Spoilt = "spoilt";

    /// <summary>What stands before the name of a factor.</summary>
    public const string FactorPrefix = "factors.";
}

/// <summary>What is to be changed of a run; what is null or not there stays.</summary>
public sealed record RunChanges
{
    /// <summary>New texts by member of the set-up: <c>top</c>, <c>base</c>, <c>cover</c>, <c>operator</c>, <c>note</c>.</summary>
    public IReadOnlyDictionary<string, string> Texts { get; init; } = new Dictionary<string, string>();

    /// <summary>New values of factors by name; null takes the factor away.</summary>
    public IReadOnlyDictionary<string, double?> Factors { get; init; } = new Dictionary<string, double?>();

    /// <summary>Why the run is not to count; empty where it is to count after all.</summary>
    public string? Spoilt { get; init; }

    /// <summary>What is to follow the time in the folder's name.</summary>
    public string? Slug { get; init; }
}
