using System.Globalization;
using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Recording;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Service.Import;

/// <summary>Makes runs of a file's numbers.</summary>
internal sealed class Importer
{
    private const int FewestPulses = 4;
    private readonly ImportOrder _order;
    private readonly ImportTable _table;
    private readonly List<string> _notes = [];

    private Importer(ImportOrder order, ImportTable table) => (_order, _table) = (order, table);

    /// <summary>Imports a file.</summary>
    /// <exception cref="RunFormatException">It has no such columns.</exception>
    /// <exception cref="IOException">It cannot be read, or the run cannot be written.</exception>
    public static ImportOutcome Import(ImportOrder order) => new Importer(order, ImportTable.Read(order.File, order.Columns)).Run();

    private ImportOutcome Run()
    {
        if (_table.Odd.Length > 0)
            _notes.Add(_table.Odd);
        ImportTimes times = _order.Kind == ImportKind.Intervals
            ? ImportTimes.OfIntervals(_table, _order.UnitS)
            : ImportTimes.OfMoments(_table, _order.UnitS);
        if (_order.Kind == ImportKind.Speed)
            times = ImportedSpeed.Possible(times, _table);
        string? tooMuch = Report(times.Ns.Count);
        if (tooMuch is not null)
            return Refused(tooMuch);
        ImportStart start = ImportStart.Of(_order, times.Ns[0]);
        if (start.How.Length > 0)
            _notes.Add(start.How);
        return _order.Kind == ImportKind.Speed ? Speed(times, start) : Pulses(times, start);
    }

    private ImportOutcome Refused(string problem) => new([], [problem], _notes);

    // Each line that was left out is told or counted; null where what is left can be worked with.
    private string? Report(int left)
    {
        LeftOut gone = _table.LeftOut;
        if (gone.Count > 0)
        {
            foreach ((long line, string what) in gone.Told)
                _notes.Add($"{Path.GetFileName(_order.File)}, line {line}: {what}; left out");
            _notes.Add($"{gone.Count} of {_table.Rows.Count + gone.Of(LeftOutKind.NoNumber)} lines left out: {gone.Counts}");
            if (_order.Kind == ImportKind.Intervals)
                _notes.Add("an interval that is left out takes its time with it: what follows is too early by it, and one pulse is missing");
        }

        if (_table.Blank > 0)
            _notes.Add($"lines that are empty or comments: {_table.Blank}");
        string comma = gone.Commas > 0
            ? $"; {gone.Commas} of the lines have a decimal comma: --decimal-comma reads them" + (_table.Separator == ',' ? ", where ; or a tab separates the columns" : "")
            : "";
        int fewest = _order.Kind == ImportKind.Speed ? Results.Speeds.SpeedCurve.FewestSamples : FewestPulses;
        if (left < fewest)
            return $"{_order.File}: found {left} {(_order.Kind == ImportKind.Speed ? "speeds" : "pulses")} fit for use, expected {fewest} or more{comma}";
        if (comma.Length > 0)
            _notes.Add(comma[2..]);
        return _order.Strict && gone.Count > 0 ? $"{_order.File}: {gone.Count} lines would be left out, and with --strict none may be" : null;
    }

    private ImportOutcome Pulses(ImportTimes times, ImportStart start)
    {
        if (UnitCheck.Pulses(_order, times.Ns) is { } wrong)
            return Refused(wrong);
        long first = times.Ns[0];
        Pulse[] pulses = [.. times.Ns.Select(ns => new Pulse(ns - first, 0, -1))];
        List<FoundRun> runs = ImportedPulses.Runs(pulses, _order.Settings);
        if (runs.Count == 0)
        {
            runs.Add(new FoundRun(0, pulses.Length - 1, EndReasons.SourceLost));
            _notes.Add("no launch and no free spin found by themselves: the whole file is taken for the run");
        }

        long outside = pulses.Length - runs.Sum(r => (long)(r.Last - r.First + 1));
        if (outside > 0)
            _notes.Add($"{Numbers.Count(outside)} of {Numbers.Count(pulses.Length)} pulses belong to no run and are not kept");
        if (runs.Select(r => UnitCheck.Length(_order, (pulses[r.Last].Ticks - pulses[r.First].Ticks) / ImportedPulses.TickHz)).FirstOrDefault(w => w is not null) is { } endless)
            return Refused(endless);
        var folders = new List<string>();
        foreach (FoundRun run in runs)
        {
            var began = new JournalStart(
                ProgramVersion.Software, new UtcAnchor(start.Utc.AddTicks(pulses[run.First].Ticks / 100), 0),
                new JournalSource("import", _order.Detail(_order.Kind == ImportKind.Pulses ? "moments of pulses" : "intervals between pulses"), "import", ImportedPulses.TickHz, _order.Options.Marks),
                _order.Options.Setup(), new Dictionary<string, string> { [CaptureJournals.HostClockName] = HostSynchronisation.Unknown },
                AirByHand: _order.Options.AirByHand());
            NoteTwin(began.UtcAnchor.Utc);
            JournaledRun imported = JournaledRun.Of(began, pulses[run.First..(run.Last + 1)], runs.Count == 1 || run == runs[0] ? _table.LeftOut.Count : 0);
            folders.Add(new RunFinisher(_order.Settings, _order.Options.Library, NullLogger.Instance).Finish(imported, _order.File, run.Reason));
            NoteMarks(folders[^1]);
        }

        if (runs.Count > 1)
            _notes.Add($"{runs.Count} runs found in the file, one after the other");
        return new ImportOutcome(folders, [], _notes);
    }

    private ImportOutcome Speed(ImportTimes times, ImportStart start)
    {
        double[] rpm = [.. times.Rows.Select(r => r.Value * _order.UnitRpm)];
        double spanS = (times.Ns[^1] - times.Ns[0]) * 1e-9;
        if ((UnitCheck.Speeds(_order, rpm, spanS) ?? UnitCheck.Length(_order, spanS)) is { } wrong)
            return Refused(wrong);
        if (ImportedSpeed.Make(_order, times.Ns, rpm, start.Utc, _table.LeftOut.Count, out string? problem) is not { } run)
            return Refused(problem!);
        NoteTwin(run.Descriptor.StartedAt);
        return new ImportOutcome([RunPackageWriter.Write(_order.Options.Library, run)], [], _notes);
    }

    private void NoteMarks(string folder)
    {
        RunDescriptor run = RunPackageReader.ReadDescriptor(folder);
        if (RunWords.MarksLookWrong(run) is { Length: > 0 } odd)
            _notes.Add($"{Path.GetFileName(folder)}: {odd}");
        _notes.Add(string.Create(CultureInfo.InvariantCulture,
            $"{Path.GetFileName(folder)}: {Numbers.Count(run.Counts.Marks)} marks, {Numbers.Count(run.Counts.Extra)} extra, {Numbers.Count(run.Counts.Missed)} missed; peak {run.Result.PeakRpm:F1} rpm, spin time {Numbers.ClockTenths(run.Result.SpinTimeS)}, {run.EndReason}"));
    }

    private void NoteTwin(DateTimeOffset startedAt)
    {
        LibraryRun? twin = RunLibrary.List(_order.Options.Library)
            .FirstOrDefault(r => r.Descriptor is { Source.Kind: "import" } d && Math.Abs((d.StartedAt - startedAt).TotalMilliseconds) < 1.5);
        if (twin is not null)
            _notes.Add($"{twin.Name} began at the same moment and was imported too: is it the same spin twice?");
    }
}
