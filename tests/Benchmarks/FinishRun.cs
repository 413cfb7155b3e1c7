using Acquire.Acquisition;
using Acquire.Acquisition.Clock;
using Acquire.Acquisition.Lines;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;

namespace Acquire.Benchmarks;

/// <summary>A run's journal to its package, step by step as the program does it, each step timed.</summary>
internal sealed class FinishRun(string journal, string library)
{
    private const double GridS = 1;
    private readonly List<(string Step, double S)> _steps = [];
    private readonly TimeProvider _time = TimeProvider.System;

    /// <summary>The steps with the seconds that they took.</summary>
    internal IReadOnlyList<(string Step, double S)> Steps => _steps;

    /// <summary>Bytes of the package.</summary>
    internal long PackageBytes { get; private set; }

    /// <summary>Makes the journal that is finished.</summary>
    internal static void MakeJournal(string path, SpinBytes spin)
    {
        var start = new JournalStart(
            "benchmark", new UtcAnchor(new DateTimeOffset(2026, 3, 1, 12, 0, 0, TimeSpan.Zero), 0),
            new JournalSource("simulation", "memory", PulseLineDecoder.Format, SpinBytes.TickHz, SpinBytes.Marks), new RunSetup(),
            new Dictionary<string, string>());
        using JournalWriter writer = JournalWriter.Create(path, start, TimeProvider.System);
        int begin = 0;
        foreach ((int end, long ns) in spin.Chunks)
        {
            while (!writer.TryAppend(JournalEntryKind.Bytes, ns, spin.Bytes.AsSpan(begin, end - begin)))
                writer.Flush();
            begin = end;
        }
    }

    /// <summary>Makes the package.</summary>
    /// <returns>Seconds from the journal to the package.</returns>
    internal double Measure(int pulses)
    {
        long began = _time.GetTimestamp();
        const double SecondsPerTick = 1 / SpinBytes.TickHz;
        TrackerSettings tracker = RunSettings.From(new CaptureOptions { Marks = SpinBytes.Marks }).Tracker(SpinBytes.TickHz);
        List<Pulse> read = Timed("decode", Decode);
        JudgedRun judged = Timed("judge", () => RunJudge.Judge(read, tracker));
        judged = Timed("bridge gaps", () => GapBridge.Settle(judged, SecondsPerTick, SpinBytes.Marks));
        MarkSeries marks = Timed("take marks", () => MarkSeries.From(judged.Pulses, SecondsPerTick));
        SpinEstimate spin = Timed("estimate", () => SpinEstimator.Estimate(marks, SpinBytes.Marks, GridS));
        string folder = Timed("write", () => RunPackageWriter.Write(library, Finished(judged, spin, SecondsPerTick)));
        double elapsedS = _time.GetElapsedTime(began).TotalSeconds;
        PackageBytes = Directory.GetFiles(folder).Sum(file => new FileInfo(file).Length);
        RunCounts counts = RunPackageReader.ReadDescriptor(folder).Counts;
        if (counts.Received != pulses || counts.Marks < 0.99 * pulses)
            throw new InvalidOperationException($"Of {pulses} pulses {counts.Received} are in the package, {counts.Marks} as marks.");
        return elapsedS;
    }

    private T Timed<T>(string step, Func<T> take)
    {
        long began = _time.GetTimestamp();
        T result = take();
        _steps.Add((step, _time.GetElapsedTime(began).TotalSeconds));
        return result;
    }

    private List<Pulse> Decode()
    {
        using var reader = new JournalReader(journal);
        var decoder = new PulseLineDecoder(SpinBytes.TickHz);
        var clock = new ClockFit(SpinBytes.TickHz);
        var events = new List<SourceEvent>();
        var pulses = new List<Pulse>();
        while (reader.TryRead(out JournalRecord record))
        {
            if (!record.IsBlock)
                continue;
            events.Clear();
            decoder.Decode(record.Block, events);
            foreach (SourceEvent e in events)
            {
                clock.AddOneWay(e.Pulse.Ticks + e.Pulse.WidthTicks, e.HostNs);
                if (e.Kind == SourceEventKind.Pulse)
                    pulses.Add(e.Pulse);
            }
        }

        _ = clock.Estimate();
        return pulses;
    }

    private static FinishedRun Finished(JudgedRun judged, SpinEstimate spin, double secondsPerTick) => new()
    {
        Descriptor = new RunDescriptor
        {
            Software = "benchmark",
            StartedAt = new DateTimeOffset(2026, 3, 1, 12, 0, 0, TimeSpan.Zero),
            EndReason = EndReasons.Operator,
            Setup = new RunSetup(),
            Source = new RunSource("simulation", "memory", SpinBytes.TickHz, SpinBytes.Marks, judged.MarkOffsets),
            Clock = new RunClock(0, 1, "unknown"),
            Counts = new RunCounts(judged.Pulses.Count, judged.Marks, judged.Pulses.Count - judged.Marks, judged.Missed, 0, 0, 0, 0),
            Result = new RunResult(
                spin.PeakRpm, spin.UPeakRpm, spin.ReleaseS, spin.StopS, spin.StopS - spin.ReleaseS, spin.UReleaseS + spin.UStopS, spin.LastRpm),
        },
        Pulses = judged.Pulses,
        SecondsPerTick = secondsPerTick,
        Speed = spin.Speed,
        Events = [new RunEvent(0, RunEventNames.Launch, "")],
    };
}
