using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>What a recovery found and did.</summary>
/// <param name="Runs">Folders of the runs that it made.</param>
/// <param name="Problems">What could not be made into a run, and where it is kept.</param>
internal sealed record RecoveryReport(IReadOnlyList<string> Runs, IReadOnlyList<string> Problems);

/// <summary>Makes runs of what captures left that were cut short. The caller holds the library's lock. May itself be cut short and begun again: a run
/// that is in the library is marked so in its journal before the next is made, and one that was written but not marked is found again by its
/// first pulse.</summary>
internal sealed class Recovery
{
    private const long LongestCutStart = 64 << 10;
    private readonly string _library;
    private readonly Func<UnsavedRun, string> _finish;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly string[] _journals;
    private readonly string[] _unfinished;

    /// <summary>Notes which journals are there now: those that come later belong to a capture under way, as does one that is named.</summary>
    /// <param name="library">The library.</param>
    /// <param name="time">The time.</param>
    /// <param name="logger">Where it is said what was done.</param>
    /// <param name="underWay">Full path of a journal that is not to be touched; or null.</param>
    /// <param name="finish">Makes the package of a run and gives its folder; made here where null.</param>
    public Recovery(string library, TimeProvider time, ILogger logger, string? underWay = null, Func<UnsavedRun, string>? finish = null)
    {
        _library = library;
        _finish = finish ?? (run => RunFinisher.Of(run.Journal, library, logger).Finish(run));
        _time = time;
        _logger = logger;
        string open = Path.Combine(library, CaptureJournals.OpenFolder);
        _journals = Directory.Exists(open) ? [.. Directory.GetFiles(open, "*.journal").Where(j => Path.GetFullPath(j) != underWay)] : [];
        Array.Sort(_journals, StringComparer.Ordinal);
        _unfinished = Directory.Exists(library) ? Directory.GetDirectories(library, RunPackageWriter.UnfinishedPrefix + "*") : [];
    }

    /// <summary>The folder, beside the journals, of those that were damaged or could not be read: kept as they were found.</summary>
    public const string AsideFolder = "aside";

    /// <summary>Recovers the journals.</summary>
    public RecoveryReport Run()
    {
        var runs = new List<string>();
        var problems = new List<string>();
        if (!StillFinishing.WaitUntilNone(_library))
            return new RecoveryReport(runs, [$"{_library}: a process of an earlier capture still saves a run; end it, then run acquire recover."]);
        foreach (string journal in _journals)
        {
            try
            {
                Recover(journal, runs, problems);
            }
            catch (Exception e) when (e is RunFormatException or IOException or InvalidDataException or UnauthorizedAccessException)
            {
                string kept = PutAside(journal);
                problems.Add($"{e.Message} The journal is kept as {kept}.");
            }
        }

        RemoveUnfinished();
        return new RecoveryReport(runs, problems);
    }

    // What was being written when the program was cut short; its journal was kept, and it has been made anew.
    private void RemoveUnfinished()
    {
        foreach (string folder in _unfinished)
        {
            try
            {
                Directory.Delete(folder, recursive: true);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                _logger.LogWarning("{Folder} is left of a run that was being written, and cannot be deleted: {Problem}", folder, e.Message);
            }
        }
    }

    private void Recover(string journal, List<string> runs, List<string> problems)
    {
        JournalRuns found = JournalRuns.Read(journal);
        if (found.IsEmpty && new FileInfo(journal).Length <= LongestCutStart)
        {
            // Cut short before its first record was whole: nothing had been received.
            File.Delete(journal);
            return;
        }

        RunFinisher finisher = RunFinisher.Of(journal, _library, _logger);
        bool allMade = true;
        foreach (BoundRun run in found.Runs)
        {
            if (finisher.Saved(journal, run.FirstPulse) is { } existing)
            {
                Mark(journal, run.Number, existing);
                continue;
            }

            try
            {
                string folder = _finish(new UnsavedRun(journal, run.FirstPulse, run.LastPulse, run.Reason));
                Mark(journal, run.Number, folder);
                runs.Add(folder);
                _logger.LogInformation("Recovered: {Folder}", folder);
            }
            catch (RunFormatException e)
            {
                allMade = false;
                problems.Add(e.Message);
            }
        }

        if (found.DamagedBytes > 0)
            problems.Add($"{journal}: {found.DamagedBytes} bytes in its middle could not be read and are missing from what was recovered. It is kept as {PutAside(journal)}.");
        else if (!allMade)
            problems.Add($"The journal is kept as {PutAside(journal)}.");
        else
            File.Delete(journal);
        if (found.TornBytes > 0)
            _logger.LogInformation("{Journal}: the last record was cut short, {Bytes} bytes.", Path.GetFileName(journal), found.TornBytes);
    }

    private void Mark(string journal, int number, string folder)
    {
        using JournalWriter writer = JournalWriter.Reopen(journal);
        writer.TryAppend(Acquisition.HostClock.MonotonicNs(_time), new RunPackaged(number, Path.GetFileName(folder)));
        writer.Flush();
    }

    private static string PutAside(string journal)
    {
        string folder = Path.Combine(Path.GetDirectoryName(journal)!, AsideFolder);
        Directory.CreateDirectory(folder);
        string kept = Path.Combine(folder, Path.GetFileName(journal));
        File.Move(journal, kept, overwrite: true);
        return kept;
    }
}
