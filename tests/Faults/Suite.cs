namespace Acquire.Faults;

/// <summary>How much of a suite is to be done.</summary>
/// <param name="Cases">Cases as the user wants them; null for the suite's own number.</param>
/// <param name="First">The first seed.</param>
/// <param name="IsSample">A few cases, within a minute for all suites together.</param>
/// <param name="Minutes">For suites that go by time.</param>
internal sealed record Extent(int? Cases, int First, bool IsSample, double Minutes)
{
    /// <summary>Seeds of the cases.</summary>
    public IEnumerable<int> Seeds(int whole, int sample) => Enumerable.Range(First, Cases ?? (IsSample ? sample : whole));
}

/// <summary>One kind of fault.</summary>
/// <param name="Name">For <c>--only</c>.</param>
/// <param name="About">What is broken, in a few words.</param>
/// <param name="Break">Breaks it, case by case.</param>
internal sealed record Suite(string Name, string About, Action<Extent, Tally> Break);

/// <summary>Counts of a suite. Safe to use from several threads.</summary>
internal sealed class Tally(string suite)
{
    private const int MostShown = 20;
    private readonly SortedDictionary<string, long> _notes = new(StringComparer.Ordinal);
    private readonly List<string> _remarks = [];
    private readonly object _gate = new();

    public long Passed { get; private set; }

    public long Failed { get; private set; }

    /// <summary>What else was counted, for the suite's line.</summary>
    public string Notes => string.Concat(_notes.Select(n => $", {n.Value} {n.Key}")) + string.Concat(_remarks.Select(r => ", " + r));

    /// <summary>Counts a case by what is wrong with it; none is good.</summary>
    public void Count(string name, IReadOnlyList<string> wrong)
    {
        if (wrong.Count == 0)
            Pass();
        else
            Fail($"{name}: {string.Join("; ", wrong)}");
    }

    public void Pass()
    {
        lock (_gate)
            Passed++;
    }

    public void Fail(string what)
    {
        lock (_gate)
        {
            if (++Failed <= MostShown)
                Console.Error.WriteLine($"{suite}: {what}");
        }
    }

    public void Note(string what, long count = 1)
    {
        lock (_gate)
            _notes[what] = _notes.GetValueOrDefault(what) + count;
    }

    /// <summary>Adds to the suite's line what does not add up.</summary>
    public void Remark(string what)
    {
        lock (_gate)
            _remarks.Add(what);
    }
}

internal static class AllSuites
{
    public static IReadOnlyList<Suite> List { get; } =
    [
        new("kill", "SIGKILL in a capture of 1,000 pulses a second", KillSuite.Break),
        new("journal", "a journal cut at every byte and with bits flipped", JournalSuite.Break),
        new("power", "power cuts between the writes of a real capture", PowerSuite.Break),
        new("disk", "a disk that runs full and comes back", DiskSuite.Break),
        new("lines", "malformed lines in every format", LinesSuite.Break),
        new("packages", "damaged packages and descriptors", PackagesSuite.Break),
        new("import", "spoilt and ruined files to import", ImportSuite.Break),
        new("port", "a port that goes away and comes back during a spin", PortSuite.Break),
        new("soak", "two hours of waiting and spinning", SoakSuite.Break),
        new("day", "a day of thirty spins", DaySuite.Break),
    ];
}
