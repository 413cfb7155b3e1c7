using System.Globalization;
using Acquire.Results.Comparison;
using Acquire.Results.Launches;
using Acquire.Results.Losses;
using Acquire.Service.Runs;

namespace Acquire.Service.Display;

/// <summary>Launches for people.</summary>
/// <param name="Runs">The runs, by group.</param>
/// <param name="By">What they are grouped by.</param>
/// <param name="Groups">The groups beside each other; the first is what the others are compared with.</param>
internal sealed record LaunchText(IReadOnlyList<LaunchedRun> Runs, string By, IReadOnlyList<LaunchGroup> Groups)
{
    private bool HasBody => Runs[0].Rotor is not null;

    /// <summary>What it is.</summary>
    public string Title => Runs.Count == 1 ? $"Launch of {Runs[0].Run.Name}" : $"{Runs.Count} launches by {By}";

    /// <summary>Headings of the table of runs.</summary>
    public string[] RunHeadings =>
    [
        "run", By, ">peak/rpm", ">u/rpm", ">time/s", ">u/s", ">turns", ">pushes",
        .. HasBody ? [">mean torque/(mN m)", ">u", ">greatest torque/(mN m)", ">u "] : Array.Empty<string>(),
    ];

    /// <summary>Headings of the table of groups.</summary>
    public string[] GroupHeadings => [By, ">runs", ">mean peak/rpm", "95 % interval/rpm", ">difference/%", "95 % interval/%", ">p"];

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine(Title);
        output.WriteLine();
        foreach (string verdict in Verdicts()) output.WriteLine(verdict);
        if (Groups.Count > 1) output.WriteLine();
        CompareText.WriteTable(surroundings, RunHeadings, RunRows());
        if (Groups.Count > 1)
        {
            output.WriteLine();
            CompareText.WriteTable(surroundings, GroupHeadings, GroupRows());
        }

        output.WriteLine();
        foreach (string remark in Remarks()) output.WriteLine(remark);
        output.Flush();
    }

    /// <summary>A row for each run.</summary>
    public IEnumerable<string[]> RunRows() => Runs.Select(r => (string[])
    [
        r.Run.Name, r.Group, Numbers.Measured(r.Launch.PeakRpm, r.Launch.UPeakRpm), Numbers.Uncertainty(r.Launch.UPeakRpm),
        Numbers.Measured(r.Launch.TimeS, double.IsFinite(r.Launch.UTimeS) ? r.Launch.UTimeS : 0.01), Numbers.Uncertainty(r.Launch.UTimeS),
        double.IsFinite(r.Launch.Speeds.Turns) ? r.Launch.Speeds.Turns.ToString("F1", CultureInfo.InvariantCulture) : Numbers.None,
        r.Launch.Pushes?.ToString(CultureInfo.InvariantCulture) ?? Numbers.None,
        .. HasBody ? Torque(r.MeanTorqueNm!.Value).Concat(Torque(r.GreatestTorqueNm!.Value)) : [],
    ]);

    /// <summary>A row for each group.</summary>
    public IEnumerable<string[]> GroupRows() => Groups.Select(g => (string[])
    [
        Name(g), g.Peaks.Count.ToString(CultureInfo.InvariantCulture), Numbers.Measured(g.MeanRpm, double.IsFinite(g.HighRpm) ? (g.HighRpm - g.LowRpm) / 4 : 1),
        double.IsFinite(g.LowRpm) ? string.Create(CultureInfo.InvariantCulture, $"{g.LowRpm:F0} to {g.HighRpm:F0}") : Numbers.None,
        g.Change is null ? Numbers.None : ChangeWords.Value(g.Change), g.Change is null ? Numbers.None : ChangeWords.Interval(g.Change), ChangeWords.P(g.AdjustedP),
    ]);

    /// <summary>A line for each group that is compared.</summary>
    public IEnumerable<string> Verdicts() => Groups.Where(g => g.Change is not null).Select(g => $"{Name(g)} beside {Name(Groups[0])}: {Verdict(g)}.");

    /// <summary>What the numbers are.</summary>
    public IEnumerable<string> Remarks()
    {
        yield return "Time and turns are from the first mark seen to the release, where the speed peaks; what came before the first mark was not seen.";
        string[] few = [.. Runs.Where(r => r.Launch.Pushes is null).Select(r => r.Run.Name)];
        if (few.Length > 0) yield return $"Too little of the launch was seen to tell pushes and torque: {string.Join(", ", few)}.";
        if (HasBody) yield return "Torque is inertia times acceleration: what sped the body up, over and above what its losses took; mean from the first speed to the peak, greatest over 0.1 s or two turns.";
        if (Groups.Count > 2) yield return "Groups are many: p is raised by Holm's rule for it.";
        if (Groups.Any(g => g.Change is { Basis: ChangeBasis.LibraryScatter })) yield return "A group with one run is compared by the scatter of those with more.";
    }

    private static string Verdict(LaunchGroup group)
    {
        Change change = group.Change!;
        if (!change.HasInterval) return $"{ChangeWords.Value(change)} % of the peak speed, but one run each: nobody can say whether it is more than chance; launch three times or more each";
        return group.AdjustedP < 1 - Change.Level ? $"peak speed {ChangeWords.WithInterval(change)}" : $"no difference shown, {ChangeWords.WithInterval(change)} of the peak speed";
    }

    /// <summary>A group's name.</summary>
    public static string Name(LaunchGroup group) => group.Name.Length > 0 ? group.Name : "not given";

    private static string[] Torque(Estimate torqueNm) => [Numbers.Measured(1000 * torqueNm.Value, 1000 * torqueNm.U), Numbers.Uncertainty(1000 * torqueNm.U)];
}
