using System.Globalization;
using Acquire.Acquisition.Clock;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results.Speeds;
using Acquire.Service.Capture;

namespace Acquire.Service.Import;

/// <summary>Makes a run of speeds against time. It has no pulses: pulses.csv is empty, speed.csv is a smooth curve through what was given.</summary>
internal static class ImportedSpeed
{
    /// <summary>Leaves out speeds that cannot be.</summary>
    public static ImportTimes Possible(ImportTimes times, ImportTable table)
    {
        var rows = new List<ImportRow>();
        var ns = new List<long>();
        for (int i = 0; i < times.Rows.Count; i++)
        {
            ImportRow row = times.Rows[i];
            if (row.Value is < 0 or > 1e9)
            {
                table.LeftOut.Add(row.Line, LeftOutKind.CannotBe, string.Create(CultureInfo.InvariantCulture, $"found a speed of {row.Value}, expected 0 or more"));
                continue;
            }

            rows.Add(row);
            ns.Add(times.Ns[i]);
        }

        table.LeftOut.Trim();
        return new ImportTimes(rows, ns);
    }

    /// <summary>Makes the run.</summary>
    /// <param name="order">What is imported.</param>
    /// <param name="ns">Times, ns, rising.</param>
    /// <param name="rpm">Speeds, turns a minute.</param>
    /// <param name="startUtc">When the first time was.</param>
    /// <param name="leftOut">Lines left out.</param>
    /// <param name="problem">Why not, where null is returned.</param>
    public static FinishedRun? Make(ImportOrder order, IReadOnlyList<long> ns, double[] rpm, DateTimeOffset startUtc, long leftOut, out string? problem)
    {
        // Rest before and after is no part of the spin.
        int first = Array.FindIndex(rpm, r => r > 0);
        int last = Array.FindLastIndex(rpm, r => r > 0);
        problem = first < 0 || last - first + 1 < SpeedCurve.FewestSamples
            ? $"{order.File}: found {(first < 0 ? 0 : last - first + 1)} speeds above 0, expected {SpeedCurve.FewestSamples} or more"
            : null;
        if (problem is not null)
            return null;
        double[] timeS = [.. Enumerable.Range(first, last - first + 1).Select(i => (ns[i] - ns[first]) * 1e-9)];
        SpeedCurve curve = SpeedCurve.Fit(timeS, rpm[first..(last + 1)], order.Options.GridS);
        bool rests = last + 1 < rpm.Length;
        double mayEndBelow = order.Settings.Rules(ImportedPulses.TickHz).MayEndBelow(curve.PeakRpm / 60) * 60;
        string reason = rests || curve.LastRpm < mayEndBelow ? EndReasons.Stopped : EndReasons.SourceLost;
        double halfStepS = rests ? (ns[last + 1] - ns[last]) * 0.5e-9 : (timeS[^1] - timeS[^2]) / 2;
        double stopS = timeS[^1] + (reason == EndReasons.Stopped ? halfStepS : 0);
        return Run(order, curve, startUtc.AddTicks((ns[first] - ns[0]) / 100), reason, stopS, halfStepS / Math.Sqrt(3), leftOut);
    }

    private static FinishedRun Run(ImportOrder order, SpeedCurve curve, DateTimeOffset startedAt, string reason, double stopS, double uStopS, long leftOut)
    {
        double spinTimeS = stopS - curve.ReleaseS;
        double share = order.URatePpm * 1e-6;
        var budget = new RunBudget(spinTimeS * share, curve.UReleaseS, uStopS);
        string how = string.Create(CultureInfo.InvariantCulture,
            $"no pulses: speeds against time, fitted by a polynomial within {curve.HalfWindowS:0.##} s either way, samples scatter by {curve.NoiseRpm:G3} rpm");
        JournaledAir air = JournaledAir.Of([], order.Options.AirByHand(), 0, stopS);
        return new FinishedRun
        {
            Descriptor = new RunDescriptor
            {
                Software = ProgramVersion.Software,
                StartedAt = startedAt,
                EndReason = reason,
                Setup = order.Options.Setup(),
                Source = new RunSource("import", order.Detail(how), ImportedPulses.TickHz, order.Options.Marks, [.. Enumerable.Range(0, order.Options.Marks).Select(i => i / (double)order.Options.Marks)]),
                Clock = new RunClock(0, order.URatePpm, HostSynchronisation.Unknown),
                Counts = new RunCounts(0, 0, 0, 0, leftOut, 0, 0, curve.Gaps.Count + (reason == EndReasons.SourceLost ? 1 : 0)),
                Result = new RunResult(curve.PeakRpm, curve.UPeakRpm, curve.ReleaseS, stopS, spinTimeS, budget.TogetherS, curve.LastRpm),
                Budget = budget,
                Air = air.From,
            },
            Environment = air.Points,
            Pulses = [],
            SecondsPerTick = 1 / ImportedPulses.TickHz,
            Speed = [.. curve.Points.Select(p => p with { UDecelRpmPerS = double.Hypot(p.UDecelRpmPerS, p.DecelRpmPerS * share) })],
            Events = Events(curve, reason, stopS),
        };
    }

    private static List<RunEvent> Events(SpeedCurve curve, string reason, double stopS)
    {
        var events = new List<RunEvent>
        {
            new(0, RunEventNames.Launch, "the first speed above 0"),
            new(curve.ReleaseS, RunEventNames.Release, string.Create(CultureInfo.InvariantCulture, $"{curve.PeakRpm:F1} rpm")),
        };
        foreach ((double fromS, double toS) in curve.Gaps)
        {
            events.Add(new RunEvent(fromS, RunEventNames.SignalLost, "no speeds given"));
            events.Add(new RunEvent(toS, RunEventNames.SignalBack, ""));
        }

        events.Add(new RunEvent(stopS, RunEventNames.Stop, reason == EndReasons.Stopped ? reason : "the file ends while the body still spins"));
        return [.. events.OrderBy(e => e.TimeS)];
    }
}
