using Acquire.Recording;

namespace Acquire.Service.Plans;

/// <summary>A run that followed a plan.</summary>
/// <param name="Name">Its folder's name.</param>
/// <param name="Run">Its descriptor.</param>
internal sealed record PlannedRun(string Name, RunDescriptor Run);

/// <summary>A row with the runs that were spun for it, in order of time.</summary>
/// <param name="Row">The row.</param>
/// <param name="Runs">The runs, each with why it does not count, or null where it does.</param>
internal sealed record PlanRowProgress(PlanRow Row, IReadOnlyList<(PlannedRun Run, string? Why)> Runs)
{
    /// <summary>The run that counts for it: the last that is not spoilt and has its set-up; null while there is none.</summary>
    public PlannedRun? Good => Runs.LastOrDefault(r => r.Why is null).Run;
}

/// <summary>What of a plan is done, as the library's runs tell it: nothing else keeps account, so that nothing can disagree with them.</summary>
/// <param name="Sheet">The plan.</param>
/// <param name="Rows">Its rows in the order of the sheet.</param>
internal sealed record PlanProgress(PlanSheet Sheet, IReadOnlyList<PlanRowProgress> Rows)
{
    /// <summary>Rows that have a run that counts.</summary>
    public int Done => Rows.Count(r => r.Good is not null);

    /// <summary>Whether all of them have.</summary>
    public bool IsComplete => Done == Rows.Count;

    /// <summary>The first row without a run that counts; null where there is none.</summary>
    public PlanRowProgress? Next => Rows.FirstOrDefault(r => r.Good is null);

    /// <summary>Runs of the plan that do not count, with why.</summary>
    public IEnumerable<(PlanRow Row, PlannedRun Run, string Why)> Spoilt => Rows.SelectMany(r => r.Runs.Where(x => x.Why is not null).Select(x => (r.Row, x.Run, x.Why!)));

    /// <summary>Finds it.</summary>
    /// <param name="sheet">The plan.</param>
    /// <param name="runs">Runs of the library; those of other plans and of none are passed over.</param>
    public static PlanProgress Of(PlanSheet sheet, IEnumerable<PlannedRun> runs)
    {
        ILookup<int, PlannedRun> byRow = runs.Where(r => r.Run.Plan?.Id == sheet.Id).OrderBy(r => r.Run.StartedAt).ThenBy(r => r.Name, StringComparer.Ordinal).ToLookup(r => r.Run.Plan!.Row);
        return new PlanProgress(sheet, [.. sheet.Rows.Select(row => new PlanRowProgress(row, [.. byRow[row.Row].Select(r => (r, WhyNot(row, r.Run)))]))]);
    }

    // A run whose set-up was corrected afterwards, or whose row was, is a run of another set-up.
    private static string? WhyNot(PlanRow row, RunDescriptor run) => run.Spoilt is { } spoilt ? spoilt
        : row.Differs(run.Setup) is { } differs ? "another set-up: " + differs : null;
}
