using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Plans;

/// <summary>How a plan stands while it is followed; immutable.</summary>
/// <param name="Progress">What is done, as the library tells.</param>
/// <param name="Now">The row of the run under way; null where there is none.</param>
/// <param name="Saving">The row of a run that has ended and is being saved, or of one that an earlier capture left; null where there is none.</param>
/// <param name="Next">The row that the next launch is for; null where every row is done or under way.</param>
internal sealed record PlanView(PlanProgress Progress, PlanRow? Now, PlanRow? Saving, PlanRow? Next)
{
    /// <summary>Whether every row has a run that counts.</summary>
    public bool IsComplete => Progress.IsComplete;

    /// <summary>What there is to know before a launch, or during a run, in a line.</summary>
    public string Words => Now is { } now ? "now " + PlanStatusText.Row(Progress.Sheet, now)
        : Saving is { } saving ? "saving " + PlanStatusText.Row(Progress.Sheet, saving)
        : Next is { } next ? "next " + PlanStatusText.Row(Progress.Sheet, next) + Again(next)
        : "every row has its run";

    private string Again(PlanRow row) => Progress.Rows.First(r => r.Row == row).Runs is [.., (_, { } why)] ? $", again ({why})" : "";
}

/// <summary>Follows a plan through a capture: gives each run the row that is next, and finds out from the library what is done. It keeps no account of its
/// own: a row is done where the library has a run for it that counts, under way where a journal has one, and open otherwise. So a capture that is cut
/// short goes on with the right row, and a run that the user marks as spoilt, or whose set-up he corrects, opens its row again within a second.</summary>
/// <remarks>The library is read on a thread of its own; the capture's thread never waits for the disk.</remarks>
internal sealed class PlanFollower : IDisposable
{
    private const int LookEveryMs = 1000;
    private readonly Lock _lock = new();
    private readonly PlanSheet _sheet;
    private readonly RunSetup _usual;
    private readonly PlanRuns _runs;
    private readonly ILogger _logger;
    private readonly Dictionary<(string Journal, int Number), Flight> _flights;
    private readonly AutoResetEvent _look = new(false);
    private readonly Thread _thread;
    private PlanProgress _progress;
    private PlanView _view;
    private string _said = "";
    private volatile bool _ended;

    // A run on its way into the library; its journal is an earlier capture's where the recovery makes it.
    private sealed record Flight(int Row, bool Ended, bool OfEarlier, string? Folder);

    private PlanFollower(PlanSheet sheet, CaptureOptions options, ILogger logger, Dictionary<(string, int), Flight> flights)
    {
        (_sheet, _usual, _logger, _flights) = (sheet, options.Setup(), logger, flights);
        _runs = new PlanRuns(sheet.Id, options.Library, logger);
        _progress = PlanProgress.Of(sheet, _runs.Look(everything: true));
        _view = View();
        if (_view.Now is { } now) logger.LogInformation("Plan {Plan}: the run that goes on is for {Row}", sheet.Id, PlanStatusText.Row(sheet, now));
        Say();
        _thread = new Thread(Work) { IsBackground = true, Name = "plan" };
        _thread.Start();
    }

    /// <summary>How it stands; safe to read from any thread.</summary>
    public PlanView Live => Volatile.Read(ref _view);

    /// <summary>Begins to follow a plan.</summary>
    /// <param name="sheet">The plan.</param>
    /// <param name="options">The capture's settings; what the plan does not say of the set-up is as they say.</param>
    /// <param name="resumed">A capture that goes on; null where none does.</param>
    /// <param name="logger">Where it is said what is next.</param>
    public static PlanFollower Begin(PlanSheet sheet, CaptureOptions options, ResumedCapture? resumed, ILogger logger)
    {
        var flights = new Dictionary<(string, int), Flight>();
        foreach (BoundRun run in resumed?.All ?? []) Add(resumed!.Journal, run, run.LastPulse != long.MaxValue, earlier: false);
        string open = Path.Combine(options.Library, RunLibrary.OpenFolder);
        foreach (string journal in Directory.Exists(open) ? Directory.GetFiles(open, "*.journal").Where(j => j != resumed?.Journal) : [])
        {
            try
            {
                foreach (BoundRun run in JournalRuns.Read(journal).Runs) Add(journal, run, ended: true, earlier: true);
            }
            catch (Exception e) when (e is RunFormatException or IOException or InvalidDataException or UnauthorizedAccessException)
            {
                logger.LogDebug(e, "The recovery says what is wrong with {Journal}", journal);
            }
        }

        return new PlanFollower(sheet, options, logger, flights);

        void Add(string journal, BoundRun run, bool ended, bool earlier)
        {
            if (run.Plan?.Id == sheet.Id) flights[(journal, run.Number)] = new Flight(run.Plan.Row, ended, earlier, null);
        }
    }

    /// <summary>A run has begun: gives it the next row.</summary>
    /// <param name="journal">The journal.</param>
    /// <param name="number">The run's number in it.</param>
    /// <param name="firstPulse">Ordinal of its first pulse in it.</param>
    /// <param name="usual">What the plan does not say of the set-up; null for that of the settings.</param>
    /// <returns>The journal's entry of it.</returns>
    public RunBegan Begin(string journal, int number, long firstPulse, RunSetup? usual = null)
    {
        lock (_lock)
        {
            if (_view.Next is not { } row)
            {
                _logger.LogWarning("Plan {Plan}: every row is done or being saved, so that the run under way is for none of them", _sheet.Id);
                return new RunBegan(number, firstPulse, usual);
            }

            _flights[(journal, number)] = new Flight(row.Row, false, false, null);
            Publish();
            return new RunBegan(number, firstPulse, row.In(usual ?? _usual), new RunPlan(_sheet.Id, row.Row, row.Block) { FromRpm = row.Speeds?.FromRpm, ToRpm = row.Speeds?.ToRpm });
        }
    }

    /// <summary>A run has ended and is to be saved.</summary>
    public void End(string journal, int number) => Change(journal, number, f => f with { Ended = true });

    /// <summary>A run came to nothing, or could not be saved: its row is open again.</summary>
    public void Drop(string journal, int number) => Change(journal, number, _ => null);

    /// <summary>A run is in the library; what became of its row is seen there.</summary>
    public void Save(string journal, int number, string folder)
    {
        Change(journal, number, f => f with { Ended = true, Folder = folder });
        _look.Set();
    }

    /// <summary>Ends.</summary>
    public void Dispose()
    {
        if (_ended) return;
        _ended = true;
        _look.Set();
        _thread.Join();
        _look.Dispose();
    }

    private void Change(string journal, int number, Func<Flight, Flight?> to)
    {
        lock (_lock)
        {
            if (!_flights.TryGetValue((journal, number), out Flight? flight)) return;
            if (to(flight) is { } changed) _flights[(journal, number)] = changed;
            else _flights.Remove((journal, number));
            Publish();
        }
    }

    private void Work()
    {
        while (!_ended)
        {
            _look.WaitOne(LookEveryMs);
            if (_ended) return;
            try
            {
                Look();
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                _logger.LogDebug(e, "The library could not be looked at; tried again");
            }

            Say();
        }
    }

    // Of an earlier capture's journals what is gone has been made into a run, or put aside; both before the library is read.
    private void Look()
    {
        (string Journal, int Number)[] over;
        lock (_lock)
            over = [.. _flights.Where(f => f.Value.Folder is not null || (f.Value.OfEarlier && !File.Exists(f.Key.Journal))).Select(f => f.Key)];
        PlanProgress progress = PlanProgress.Of(_sheet, _runs.Look(everything: over.Length > 0));
        lock (_lock)
        {
            foreach ((string, int) flight in over) _flights.Remove(flight);
            _progress = progress;
            Publish();
        }
    }

    private void Publish() => Volatile.Write(ref _view, View());

    private PlanView View()
    {
        int[] taken = [.. _flights.Values.Select(f => f.Row)];
        PlanRow? Row(Func<Flight, bool> of) => _flights.Values.FirstOrDefault(of) is { } flight ? _sheet.Rows.FirstOrDefault(r => r.Row == flight.Row) : null;
        return new PlanView(_progress, Row(f => !f.Ended), Row(f => f.Ended), _progress.Rows.FirstOrDefault(r => r.Good is null && !taken.Contains(r.Row.Row))?.Row);
    }

    // What is said must be true for longer than a run takes to be saved: the row of one that was spoilt comes up again.
    private void Say()
    {
        PlanView view = Live;
        if (view.Now is not null || view.Saving is not null || view.Words == _said) return;
        _said = view.Words;
        int done = view.Progress.Done;
        if (view.IsComplete) _logger.LogInformation("Plan {Plan}: all {Rows} rows have their run", _sheet.Id, _sheet.Rows.Count);
        else _logger.LogInformation("Plan {Plan}, {Done} of {Rows} done: {Words}", _sheet.Id, done, _sheet.Rows.Count, view.Words);
    }
}
