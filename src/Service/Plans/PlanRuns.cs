using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Plans;

/// <summary>The runs of a library that followed a plan. A descriptor is read again only where its file has changed.</summary>
/// <param name="plan">The plan's name.</param>
/// <param name="library">The library's folder.</param>
/// <param name="logger">Where it is said that a descriptor cannot be read.</param>
internal sealed class PlanRuns(string plan, string library, ILogger logger)
{
    private readonly Dictionary<string, ((DateTime, long) State, PlannedRun? Run)> _known = [];
    private DateTime _listed;

    /// <summary>Looks at the library.</summary>
    /// <param name="everything">List it whatever its folder's time says; runs of the plan are looked at in any case.</param>
    /// <returns>The runs.</returns>
    /// <exception cref="IOException">The library cannot be listed.</exception>
    public IReadOnlyList<PlannedRun> Look(bool everything)
    {
        // The time before the listing: what comes during it changes it again.
        DateTime changed = Directory.Exists(library) ? Directory.GetLastWriteTimeUtc(library) : default;
        if (everything || changed != _listed)
        {
            string[] folders = Directory.Exists(library) ? [.. Directory.EnumerateDirectories(library).Where(f => !Path.GetFileName(f).StartsWith('.'))] : [];
            foreach (string gone in _known.Keys.Except(folders).ToArray()) _known.Remove(gone);
            foreach (string folder in folders) Look(folder);
            _listed = changed;
        }
        else
        {
            foreach (string folder in _known.Where(k => k.Value.Run is not null).Select(k => k.Key).ToArray()) Look(folder);
        }

        return [.. _known.Values.Select(k => k.Run).OfType<PlannedRun>()];
    }

    private void Look(string folder)
    {
        var file = new FileInfo(Path.Combine(folder, "datapackage.json"));
        (DateTime, long) state = file.Exists ? (file.LastWriteTimeUtc, file.Length) : default; // some disks tell whole seconds only
        if (_known.TryGetValue(folder, out ((DateTime, long) State, PlannedRun? Run) known) && known.State == state) return;
        PlannedRun? run = null;
        try
        {
            RunDescriptor descriptor = RunPackageReader.ReadDescriptor(folder);
            if (descriptor.Plan?.Id == plan) run = new PlannedRun(Path.GetFileName(folder), descriptor);
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            logger.LogWarning("{Run} cannot be read and counts for nothing in the plan: {Problem}", Path.GetFileName(folder), e.Message);
        }

        _known[folder] = (state, run);
    }
}
