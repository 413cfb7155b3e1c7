namespace Acquire.Recording;

/// <summary>A file of a run or a journal does not hold what it should: which file, where in it, what was found and what was expected.</summary>
public sealed class RunFormatException : Exception
{
    /// <summary>Says what is wrong.</summary>
    /// <param name="file">Path of the file.</param>
    /// <param name="place">Where in it, for people: <c>line 12</c>, <c>byte 16</c>; empty for the file as a whole.</param>
    /// <param name="found">What is there.</param>
    /// <param name="expected">What should be there.</param>
    /// <param name="inner">What the parser said, if one did.</param>
    public RunFormatException(string file, string place, string found, string expected, Exception? inner = null)
        : base($"{file}{(place.Length > 0 ? ", " + place : "")}: found {found}, expected {expected}.", inner)
    {
        File = file;
        Place = place;
        Found = found;
        Expected = expected;
    }

    /// <summary>Path of the file.</summary>
    public string File { get; }

    /// <summary>Where in the file; empty for the file as a whole.</summary>
    public string Place { get; }

    /// <summary>What is there.</summary>
    public string Found { get; }

    /// <summary>What should be there.</summary>
    public string Expected { get; }
}
