using System.Globalization;
using System.Security.Cryptography;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Runs;

namespace Acquire.Service.Evidence;

/// <summary>A file of a run.</summary>
/// <param name="Path">Its name.</param>
/// <param name="Bytes">Its size.</param>
/// <param name="Sha256">SHA-256 of its content, hexadecimal.</param>
internal sealed record EvidenceFile(string Path, long Bytes, string Sha256);

/// <summary>What a run's every mark says when it is worked out anew, beside what the run states.</summary>
/// <param name="Pulses">Pulses in pulses.csv.</param>
/// <param name="Marks">Marks among them.</param>
/// <param name="Turns">Turns from the first pulse to the last mark.</param>
/// <param name="PeakRpm">The highest speed; NaN where there are no marks.</param>
/// <param name="ReleaseS">When it was, seconds since the first pulse.</param>
/// <param name="LastMarkS">The last mark.</param>
/// <param name="LastOwnS">The last that the body's own turning brought as far as the run says, and not its rolling about.</param>
/// <param name="WorstTimeS">By how much a time of pulses.csv is off the counter's over the stated rate at the most, s.</param>
internal sealed record MarksAnew(long Pulses, long Marks, double Turns, double PeakRpm, double ReleaseS, double LastMarkS, double LastOwnS, double WorstTimeS)
{
    private const int FewestMarks = 4;

    /// <summary>From release to the last mark of its own turning: no shorter can the spin have been, whatever is thought of its end.</summary>
    public double AtLeastS => LastOwnS - ReleaseS;

    /// <summary>Works it out.</summary>
    /// <exception cref="RunFormatException">The pulses cannot be read.</exception>
    public static MarksAnew Of(RunData run)
    {
        RunPulses pulses = run.ReadPulses();
        RunSource source = run.Descriptor.Source;
        double secondsPerTick = 1 / (source.TickHz * (1 + (run.Descriptor.Clock.RatePpm * 1e-6)));
        double worst = 0;
        var judged = new JudgedPulse[pulses.Count];
        for (int i = 0; i < pulses.Count; i++)
        {
            worst = Math.Max(worst, Math.Abs(((pulses.Ticks[i] - pulses.Ticks[0]) * secondsPerTick) - pulses.TimeS[i]));
            uint width = double.IsFinite(pulses.WidthS[i]) ? (uint)Math.Round(pulses.WidthS[i] / secondsPerTick) : 0;
            judged[i] = new JudgedPulse(pulses.Ticks[i], width, pulses.Kind[i], pulses.Mark[i], pulses.Turns[i]);
        }

        JudgedPulse[] marks = [.. judged.Where(p => p.Kind == PulseKind.Mark)];
        if (marks.Length < FewestMarks)
            return new MarksAnew(pulses.Count, marks.Length, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, worst);
        SpinEstimate spin = SpinEstimator.Estimate(MarkSeries.From(judged, secondsPerTick), source.MarksPerTurn, Grid(run));
        double last = (marks[^1].Ticks - judged[0].Ticks) * secondsPerTick;
        return new MarksAnew(
            pulses.Count, marks.Length, marks[^1].Turns, spin.PeakRpm, spin.ReleaseS, last, Math.Min(last, run.Descriptor.Stop?.LastMarkS ?? last), worst);
    }

    private static double Grid(RunData run) => run.Speed.Count > 1 ? run.Speed[1].TimeS - run.Speed[0].TimeS : 1;
}

/// <summary>All that an evidence states of a run, each figure under a name of its own: numbers as numbers, words as words.</summary>
internal static class EvidenceFigures
{
    /// <summary>Names of what is worked out anew begin so; another processor may differ from this one in their last digits.</summary>
    public const string Anew = "anew.";

    /// <summary>The run's files with their hashes, by name; its page, which may be made anew at any time, is none of them.</summary>
    public static IReadOnlyList<EvidenceFile> Files(string folder) =>
    [
        .. Directory.GetFiles(folder).Select(f => Path.GetFileName(f)!).Where(f => f != RunCompanions.Report).Order(StringComparer.Ordinal).Select(f =>
        {
            using FileStream file = File.OpenRead(Path.Combine(folder, f));
            return new EvidenceFile(f, file.Length, Convert.ToHexStringLower(SHA256.HashData(file)));
        }),
    ];

    /// <summary>The figures of a run.</summary>
    /// <param name="run">The run.</param>
    /// <param name="anew">What its marks say.</param>
    public static IReadOnlyList<(string Name, object Value)> Of(RunData run, MarksAnew anew)
    {
        RunDescriptor d = run.Descriptor;
        var figures = new List<(string, object)>
        {
            ("startedAt", d.StartedAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture)),
            ("endReason", d.EndReason), ("writtenBy", d.Software),
            ("spinTimeS", d.Result.SpinTimeS), ("uSpinTimeS", d.Result.USpinTimeS), ("releaseS", d.Result.ReleaseS), ("stopS", d.Result.StopS),
            ("peakRpm", d.Result.PeakRpm), ("uPeakRpm", d.Result.UPeakRpm), ("lastRpm", d.Result.LastRpm),
            ("uClockS", d.Budget?.ClockS ?? double.NaN), ("uReleaseS", d.Budget?.ReleaseS ?? double.NaN), ("uStopS", d.Budget?.StopS ?? double.NaN),
            ("endWitnessed", d.Stop is { } stop ? (stop.Witnessed ? "yes" : "no") : "not said"), ("latestStopS", d.Stop?.LatestS ?? double.NaN),
            ("ratePpm", d.Clock.RatePpm), ("uRatePpm", d.Clock.URatePpm), ("hostClock", d.Clock.HostClock), ("startCorrectedS", d.Clock.StartCorrectedS ?? double.NaN),
            ("tickHz", d.Source.TickHz), ("marksPerTurn", (double)d.Source.MarksPerTurn), ("sourceKind", d.Source.Kind), ("sourceDetail", d.Source.Detail),
            ("received", (double)d.Counts.Received), ("marks", (double)d.Counts.Marks), ("extra", (double)d.Counts.Extra), ("missed", (double)d.Counts.Missed),
            ("badLines", (double)d.Counts.BadLines), ("lostOnLine", (double)d.Counts.LostOnLine), ("droppedByBoard", (double)d.Counts.DroppedByBoard), ("gaps", (double)d.Counts.Gaps),
            ("edits", (double)(d.Edits?.Count ?? 0)),
            ("top", d.Setup.Top), ("base", d.Setup.Base), ("cover", d.Setup.Cover), ("operator", d.Setup.Operator), ("note", d.Setup.Note),
            (Anew + "pulses", (double)anew.Pulses), (Anew + "marks", (double)anew.Marks), (Anew + "turns", anew.Turns), (Anew + "peakRpm", anew.PeakRpm),
            (Anew + "releaseS", anew.ReleaseS), (Anew + "lastMarkS", anew.LastMarkS), (Anew + "atLeastS", anew.AtLeastS),
        };
        figures.AddRange(d.Setup.Factors.OrderBy(f => f.Key, StringComparer.Ordinal).Select(f => ("factor." + f.Key, (object)f.Value)));
        return figures;
    }

    /// <summary>Where what a run states and what its marks say are at odds.</summary>
    public static IEnumerable<(string File, string What)> AtOdds(RunDescriptor d, MarksAnew anew)
    {
        const double SameS = 1e-6;
        const double Sigmas = 4;
        const double OldS = 1; // runs written before budgets were do not say how sure the release is
        RunResult r = d.Result;
        const string Descriptor = "datapackage.json";
        if (Math.Abs(r.SpinTimeS - (r.StopS - r.ReleaseS)) > SameS)
            yield return (Descriptor, Text($"spinTimeS is {r.SpinTimeS}, but from releaseS to stopS it is {r.StopS - r.ReleaseS}"));
        if (d.Budget is { } budget && Math.Abs(budget.TogetherS - r.USpinTimeS) > SameS + (1e-6 * r.USpinTimeS))
            yield return (Descriptor, Text($"uSpinTimeS is {r.USpinTimeS}, but its parts come to {budget.TogetherS}"));
        if (anew.WorstTimeS > SameS)
            yield return ("pulses.csv", Text($"a time is {anew.WorstTimeS} s off its ticks at the stated rate"));
        if (double.IsNaN(anew.PeakRpm))
            yield break;
        if (Math.Abs(anew.PeakRpm - r.PeakRpm) > SameS * r.PeakRpm + (Sigmas * Finite(r.UPeakRpm)))
            yield return (Descriptor, Text($"peakRpm is {r.PeakRpm} ± {r.UPeakRpm}, but by the marks it is {anew.PeakRpm}"));
        if (Math.Abs(anew.ReleaseS - r.ReleaseS) > SameS + (d.Budget is null ? OldS : Sigmas * Finite(d.Budget.ReleaseS)))
            yield return (Descriptor, Text($"releaseS is {r.ReleaseS}, but by the marks it is {anew.ReleaseS}"));
        double mostS = d.Stop?.LatestS ?? double.PositiveInfinity;
        if (d.Stop is not null && !(r.StopS >= d.Stop.LastMarkS - Math.Max(1, Sigmas * Finite(d.Budget?.StopS ?? 0)) && r.StopS <= mostS + SameS))
            yield return (Descriptor, Text($"stopS is {r.StopS}, which is not from the last mark at {d.Stop.LastMarkS} to {mostS}"));
        if (d.Stop is not null && d.Stop.LastMarkS > anew.LastMarkS + SameS)
            yield return (Descriptor, Text($"stop.lastMarkS is {d.Stop.LastMarkS}, but the last mark of pulses.csv is at {anew.LastMarkS}"));
    }

    private static double Finite(double u) => double.IsFinite(u) ? u : 0;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
