using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>Whether a library is as it must be after a fault.</summary>
internal static class LibraryCheck
{
    /// <summary>Adds what the verifier finds.</summary>
    public static void Verify(string library, List<string> wrong)
    {
        Called verify = Called.Acquire(library, "verify", library);
        verify.Expect(wrong, "verify", 0);
        foreach (LibraryRun run in RunLibrary.List(library).Where(r => r.Descriptor is null))
            wrong.Add($"{run.Name} cannot be read: {run.Problem}");
    }

    /// <summary>Counters of every run of a library, lower 32 bits.</summary>
    public static List<HashSet<uint>> Runs(string library) =>
        [.. RunLibrary.List(library).Where(r => r.Descriptor is not null).Select(r => Counters(r.Folder))];

    /// <summary>Adds a problem for each of these runs that no run of the library holds whole.</summary>
    public static void Holds(string library, IEnumerable<TrueRun> runs, List<string> wrong)
    {
        List<HashSet<uint>> found = Runs(library);
        foreach (TrueRun run in runs)
        {
            // Fewer than four marks make no run.
            if (run.Counters.Count < 64 || found.Any(f => run.Counters.All(f.Contains)))
                continue;
            int best = found.Count == 0 ? 0 : found.Max(f => run.Counters.Count(f.Contains));
            wrong.Add($"of {run.Counters.Count} pulses of run {run.Number} the best run holds {best}, of {found.Count} runs");
        }
    }

    public static HashSet<uint> Counters(string folder)
    {
        var counters = new HashSet<uint>();
        foreach (string row in File.ReadLines(Path.Combine(folder, "pulses.csv")).Skip(1))
            counters.Add(unchecked((uint)long.Parse(row.Split(',')[1], System.Globalization.CultureInfo.InvariantCulture)));
        return counters;
    }
}
