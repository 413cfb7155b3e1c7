namespace Acquire.Service.Import;

/// <summary>Why a line of a file was left out.</summary>
internal enum LeftOutKind
{
    /// <summary>A cell is missing or is no number.</summary>
    NoNumber,

    /// <summary>A number that cannot be: an interval that is not more than 0, a speed below 0, a time far from all others.</summary>
    CannotBe,

    /// <summary>A time before that of a line that came before, or after those that follow.</summary>
    OutOfOrder,

    /// <summary>A time that was there already.</summary>
    Repeats,
}

/// <summary>The lines of a file that were left out: the first few in full, all counted.</summary>
internal sealed class LeftOut
{
    /// <summary>How many are told in full.</summary>
    public const int ToldInFull = 10;

    private readonly List<(long Line, string What)> _told = [];
    private readonly long[] _counts = new long[4];

    /// <summary>Lines left out in all.</summary>
    public long Count => _counts.Sum();

    /// <summary>Those told in full, in the order of their lines.</summary>
    public IEnumerable<(long Line, string What)> Told => _told.OrderBy(t => t.Line);

    /// <summary>Lines without a number because they have a decimal comma.</summary>
    public long Commas { get; private set; }

    /// <summary>How many of a kind.</summary>
    public long Of(LeftOutKind kind) => _counts[(int)kind];

    /// <summary>Counts a line.</summary>
    public void Add(long line, LeftOutKind kind, string what)
    {
        _counts[(int)kind]++;
        _told.Add((line, what));

        // Lines come in order from each check, but the checks follow on each other.
        if (_told.Count > 20 * ToldInFull)
            Trim();
    }

    /// <summary>Notes that a line had a decimal comma where a number was to be.</summary>
    public void NoteComma() => Commas++;

    /// <summary>Keeps the first few.</summary>
    public void Trim()
    {
        (long Line, string What)[] first = [.. Told.Take(ToldInFull)];
        _told.Clear();
        _told.AddRange(first);
    }

    /// <summary>The counts in words, such as <c>3 no numbers, 1 out of order</c>.</summary>
    public string Counts => string.Join(", ", new[]
    {
        (Of(LeftOutKind.NoNumber), "without a number"), (Of(LeftOutKind.CannotBe), "with a number that cannot be"),
        (Of(LeftOutKind.OutOfOrder), "out of order"), (Of(LeftOutKind.Repeats), "with a time that was there already"),
    }.Where(c => c.Item1 > 0).Select(c => $"{c.Item1} {c.Item2}"));
}
