using System.Collections.Frozen;
using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>A run as the page's list has it.</summary>
/// <param name="Name">Name of its folder.</param>
/// <param name="Folder">Full path of its folder.</param>
/// <param name="Descriptor">Its descriptor; null where it cannot be read.</param>
/// <param name="Problem">Why it cannot be read.</param>
/// <param name="Files">The files of it that may be fetched, by name.</param>
/// <param name="Curve">Its speed in a few points.</param>
/// <param name="State">Time and size of its descriptor.</param>
internal sealed record IndexedRun(
    string Name, string Folder, RunDescriptor? Descriptor, string? Problem, IReadOnlyDictionary<string, long?> Files, IReadOnlyList<int?> Curve, (DateTime Changed, long Bytes) State);

/// <summary>All runs at a moment; immutable.</summary>
/// <param name="Version">Another number for each change.</param>
/// <param name="IsWhole">False while the library is read for the first time.</param>
/// <param name="Runs">The runs by their start.</param>
/// <param name="ByName">The same by name.</param>
internal sealed record RunList(long Version, bool IsWhole, IReadOnlyList<IndexedRun> Runs, FrozenDictionary<string, IndexedRun> ByName);

/// <summary>The library's runs in memory, made from the folders and made anew where these change. The folders stay the truth: nothing is kept anywhere else.</summary>
internal sealed class RunIndex : IDisposable
{
    private const int LeastBetweenMs = 2000;
    private const int RestTimes = 50; // as long as a look took: then it takes 2 % of a core at the most
    private const int PublishEvery = 500;
    private readonly string _library;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly Action<long> _changed;
    private readonly AutoResetEvent _look = new(false);
    private readonly Lock _looking = new();
    private readonly ManualResetEventSlim _whole = new(false);
    private readonly Dictionary<string, IndexedRun> _known = [];
    private readonly Thread _thread;
    private FileSystemWatcher? _watcher;
    private RunList _now = new(1, false, [], FrozenDictionary<string, IndexedRun>.Empty);
    private volatile bool _ended;
    private bool _faulted;

    /// <summary>Begins to read the library.</summary>
    /// <param name="library">Its folder.</param>
    /// <param name="time">The time.</param>
    /// <param name="logger">Where troubles are said.</param>
    /// <param name="changed">Is told each new version.</param>
    public RunIndex(string library, TimeProvider time, ILogger logger, Action<long> changed)
    {
        (_library, _time, _logger, _changed) = (library, time, logger, changed);
        _thread = new Thread(Work) { IsBackground = true, Name = "page library" };
        _thread.Start();
    }

    /// <summary>The runs as last seen; safe from any thread.</summary>
    public RunList Now => Volatile.Read(ref _now);

    /// <summary>Waits until the library has been read once.</summary>
    /// <returns>False where it takes longer.</returns>
    public bool WaitWhole(TimeSpan atMost) => _whole.Wait(atMost);

    /// <summary>Looks at the library now, as whoever has just changed it does.</summary>
    public void Look()
    {
        lock (_looking)
        {
            bool changed = false;
            int read = 0;
            string[] folders = Directory.Exists(_library) ? [.. Directory.EnumerateDirectories(_library).Where(f => !Path.GetFileName(f).StartsWith('.'))] : [];
            foreach (string gone in _known.Keys.Except(folders).ToArray()) changed |= _known.Remove(gone);
            foreach (string folder in folders)
            {
                if (_ended) return;
                if (!Look(folder)) continue;
                changed = true;
                if (!Now.IsWhole && ++read % PublishEvery == 0) Publish(whole: false);
            }

            if (changed || !Now.IsWhole) Publish(whole: true);
        }
    }

    /// <summary>Ends.</summary>
    public void Dispose()
    {
        _ended = true;
        _look.Set();
        _thread.Join();
        _watcher?.Dispose();
        _look.Dispose();
        _whole.Dispose();
    }

    private void Work()
    {
        int restMs = 0;
        while (!_ended)
        {
            long began = _time.GetTimestamp();
            try
            {
                Watch();
                Look();
            }
            catch (Exception e)
            {
                if (!_faulted) _logger.LogWarning(e, "The page's list of runs could not be brought up to date; it is tried again");
                _faulted = true;
            }

            restMs = (int)Math.Clamp(RestTimes * _time.GetElapsedTime(began).TotalMilliseconds, LeastBetweenMs, 60_000);
            _look.WaitOne(restMs);
        }
    }

    // Folders that come and go are told at once; a descriptor that changes within one is seen by the next look, since a watch on each of thousands is too many.
    private void Watch()
    {
        if (_watcher is not null || !Directory.Exists(_library)) return;
        try
        {
            var watcher = new FileSystemWatcher(_library) { NotifyFilter = NotifyFilters.DirectoryName, IncludeSubdirectories = false };
            watcher.Created += (_, e) => Nudge(e.Name);
            watcher.Deleted += (_, e) => Nudge(e.Name);
            watcher.Renamed += (_, e) => Nudge(e.Name);
            watcher.EnableRaisingEvents = true;
            _watcher = watcher;
        }
        catch (Exception e) when (e is IOException or ArgumentException or UnauthorizedAccessException)
        {
            _logger.LogDebug(e, "The library cannot be watched; it is looked at every so often");
        }
    }

    private void Nudge(string? name)
    {
        if (name is { Length: > 0 } && name[0] != '.' && !_ended) _look.Set();
    }

    private bool Look(string folder)
    {
        var file = new FileInfo(Path.Combine(folder, "datapackage.json"));
        (DateTime, long) state = file.Exists ? (file.LastWriteTimeUtc, file.Length) : default;
        string report = Path.Combine(folder, Runs.RunCompanions.Report);
        bool isKnown = _known.TryGetValue(folder, out IndexedRun? known);
        if (isKnown && known!.State == state && known.Files.ContainsKey(Runs.RunCompanions.Report) == File.Exists(report)) return false;
        _known[folder] = Read(folder, state);
        return true;
    }

    private static IndexedRun Read(string folder, (DateTime, long) state)
    {
        string name = Path.GetFileName(folder);
        var files = new SortedDictionary<string, long?>(StringComparer.Ordinal);
        try
        {
            (RunDescriptor descriptor, IReadOnlyList<RunFile> named) = RunPackageReader.ReadWithFiles(folder);
            foreach (RunFile file in named.Where(f => IsPlainName(f.Path))) files[file.Path] = file.Bytes;
            files["datapackage.json"] = state.Item2;
            string report = Path.Combine(folder, Runs.RunCompanions.Report);
            if (File.Exists(report)) files[Runs.RunCompanions.Report] = new FileInfo(report).Length;
            return new IndexedRun(name, folder, descriptor, null, files, Curve(folder), state);
        }
        catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
        {
            return new IndexedRun(name, folder, null, e.Message, files, [], state);
        }
    }

    // Anybody may have written a descriptor: what it names is fetched only where it lies in the run's own folder.
    private static bool IsPlainName(string path) =>
        path.Length is > 0 and < 200 && path[0] != '.' && path == Path.GetFileName(path) && !path.Contains('\\', StringComparison.Ordinal) && !path.Any(char.IsControl);

    private static IReadOnlyList<int?> Curve(string folder)
    {
        try
        {
            return SmallCurve.Read(folder);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }

    private void Publish(bool whole)
    {
        IndexedRun[] runs = [.. _known.Values.OrderBy(r => r.Descriptor?.StartedAt ?? DateTimeOffset.MaxValue).ThenBy(r => r.Name, StringComparer.Ordinal)];
        var list = new RunList(Now.Version + 1, whole, runs, runs.ToFrozenDictionary(r => r.Name, StringComparer.Ordinal));
        Volatile.Write(ref _now, list);
        if (whole) _whole.Set();
        _changed(list.Version);
    }
}
