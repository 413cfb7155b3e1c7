using System.Globalization;

namespace Acquire.Faults;

/// <summary>What the system says of a process at a moment.</summary>
/// <param name="AtS">The moment, seconds since the watch began.</param>
/// <param name="ResidentMb">Memory that it holds in the machine, MB (10⁶ bytes).</param>
/// <param name="Handles">Files, sockets and devices that it has open, without the libraries of code, each of which is loaded once and stays.</param>
/// <param name="ProcessorS">Processor time that it and the processes that it had work for it have used so far, their own and the kernel's for them, s.</param>
internal readonly record struct ProcessFigures(double AtS, double ResidentMb, int Handles, double ProcessorS)
{
    private const double TicksPerS = 100; // USER_HZ of proc(5), the same on every Linux that .NET runs on

    /// <summary>Reads them (proc_pid_status(5), proc_pid_fd(5), proc_pid_stat(5)).</summary>
    public static ProcessFigures Read(int id, double atS)
    {
        string resident = File.ReadLines($"/proc/{id}/status").First(l => l.StartsWith("VmRSS:", StringComparison.Ordinal));
        string stat = File.ReadAllText($"/proc/{id}/stat");
        string[] fields = stat[(stat.LastIndexOf(')') + 2)..].Split(' ');
        return new ProcessFigures(
            atS,
            double.Parse(resident.Split(' ', StringSplitOptions.RemoveEmptyEntries)[1], CultureInfo.InvariantCulture) * 1024e-6,
            Directory.GetFileSystemEntries($"/proc/{id}/fd").Count(h => !IsCode(h)),
            fields[11..15].Sum(f => long.Parse(f, CultureInfo.InvariantCulture)) / TicksPerS);
    }

    private static bool IsCode(string handle)
    {
        try
        {
            return new FileInfo(handle).LinkTarget?.EndsWith(".dll", StringComparison.Ordinal) == true;
        }
        catch (IOException)
        {
            return true; // closed meanwhile
        }
    }
}

/// <summary>What a process held over a long time, and whether that stayed flat.</summary>
internal sealed class FlatWatch
{
    private const double MostGrowthShare = 0.1;
    private const double MostGrowthMb = 5;
    private readonly List<ProcessFigures> _seen = [];

    /// <summary>Memory over each tenth, MB.</summary>
    public string Course => string.Join(" ", Enumerable.Range(0, 10).Select(i => Math.Round(Tenth(i).Mb)));

    public void Add(ProcessFigures figures) => _seen.Add(figures);

    /// <summary>Share of one processor from the first look to the last.</summary>
    public double ProcessorShare => _seen.Count < 2 ? 0 : (_seen[^1].ProcessorS - _seen[0].ProcessorS) / (_seen[^1].AtS - _seen[0].AtS);

    /// <summary>The most memory seen, MB.</summary>
    public double MostMb => _seen.Max(f => f.ResidentMb);

    /// <summary>Memory, MB, and open handles over a tenth of the time, 0 to 9: of memory the median, since a look may fall into the saving of a run; of
    /// handles the fewest, since a process that works for the capture has three while it lives, and what leaks is there at every look.</summary>
    public (double Mb, double Handles) Tenth(int number)
    {
        double begin = _seen[0].AtS;
        double span = _seen[^1].AtS - begin;
        ProcessFigures[] part = [.. _seen.Where(f => Math.Min(9, (int)((f.AtS - begin) / span * 10)) == number)];
        return (Median(part.Select(f => f.ResidentMb)), part.Length == 0 ? double.NaN : part.Min(f => f.Handles));
    }

    /// <summary>Adds what is wrong where the last tenth holds more than the second, or more memory than <paramref name="mostMb"/>.</summary>
    public void IsFlat(double mostMb, List<string> wrong)
    {
        (double mb, double handles) = Tenth(1);
        (double lastMb, double lastHandles) = Tenth(9);
        if (lastMb > mb * (1 + MostGrowthShare) || lastMb > mb + MostGrowthMb || lastMb > mostMb)
            wrong.Add(FormattableString.Invariant($"memory was {mb:F1} MB in the second tenth and {lastMb:F1} MB in the last, at most {mostMb:F0} MB are good: {Course}"));
        // One more is a journal just being made or closed; what leaks leaks with every run.
        if (lastHandles > handles + 1)
            wrong.Add(FormattableString.Invariant($"open handles grew from {handles:F0} in the second tenth to {lastHandles:F0} in the last"));
    }

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? double.NaN : sorted[sorted.Length / 2];
    }
}
