using System.Diagnostics;
using System.Globalization;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Losses;

namespace Acquire.Benchmarks;

/// <summary>How long a long run takes to be read and fully analysed, beside pandas reading the same pulses.csv.</summary>
internal static class AnalyseTable
{
    private const string Python =
        "import sys,time,pandas\n"
        + "for _ in range(int(sys.argv[2])):\n"
        + "    began=time.perf_counter(); table=pandas.read_csv(sys.argv[1]); print(time.perf_counter()-began, len(table), flush=True)\n";

    internal static int Run(MeasureOptions options)
    {
        using var folder = new ScratchFolder(options.Folder);
        string journal = Path.Combine(folder.Path, "run.journal");
        var spin = new SpinBytes(options.Pulses);
        FinishRun.MakeJournal(journal, spin);
        string library = Path.Combine(folder.Path, "runs");
        new FinishRun(journal, library).Measure(spin.Pulses);
        string run = Directory.GetDirectories(library)[0];
        string pulses = Path.Combine(run, "pulses.csv");
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{spin.Pulses} pulses, pulses.csv {new FileInfo(pulses).Length * 1e-6:F0} MB, {Environment.ProcessorCount} cores"));
        double[] own = new double[options.Repeats];
        double[] pandas = new double[options.Repeats];
        for (int i = -1; i < options.Repeats; i++)
        {
            (double readS, double wholeS, string law) = Analyse(run);
            double pandasS = Pandas(pulses, spin.Pulses);
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{(i < 0 ? "first" : $"repeat {i + 1}"),-10} read and analysed {wholeS:F2} s (of it pulses.csv {readS:F2} s); pandas.read_csv {pandasS:F2} s; law {law}"));
            if (i < 0)
                continue;
            (own[i], pandas[i]) = (wholeS, pandasS);
        }

        Array.Sort(own);
        Array.Sort(pandas);
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"median     read and analysed {own[own.Length / 2]:F2} s; pandas.read_csv {pandas[own.Length / 2]:F2} s; ratio {own[own.Length / 2] / pandas[own.Length / 2]:F2} (bar: 1)"));
        return own[own.Length / 2] <= pandas[own.Length / 2] ? 0 : 1;
    }

    // All of it: descriptor, speed, events, pulses; decay time, bands, loss law.
    private static (double ReadS, double WholeS, string Law) Analyse(string folder)
    {
        TimeProvider time = TimeProvider.System;
        long began = time.GetTimestamp();
        RunDescriptor descriptor = RunPackageReader.ReadDescriptor(folder);
        var speed = RunPackageReader.ReadSpeed(folder);
        _ = RunPackageReader.ReadEvents(folder);
        long reading = time.GetTimestamp();
        RunPulses pulses = RunPackageReader.ReadPulses(folder);
        double readS = time.GetElapsedTime(reading).TotalSeconds;
        var course = new SpinCourse(speed, descriptor.Result.ReleaseS, descriptor.Result.StopS, descriptor.Clock.URatePpm);
        (double fromS, double toS) = course.FreePart;
        var law = LossLawFit.Of(SpinMarks.Of(pulses, fromS, toS), course.URatePpm, descriptor.Wobble?.ConstantPerS2)
            ?? throw new InvalidOperationException("No law was found.");
        double high = Math.Floor(speed.Where(p => p.TimeS > fromS && double.IsFinite(p.Rpm)).Max(p => p.Rpm));
        double low = Math.Ceiling(speed.Where(p => p.TimeS < toS && p.TimeS > fromS && double.IsFinite(p.Rpm)).Min(p => p.Rpm));
        SpinDown down = SpinDown.Of(course, SpeedBands.Between(high, low), law);
        if (down.Whole.Time is null || down.Bands.Any(b => b.Time is null))
            throw new InvalidOperationException("A band has no time.");
        double wholeS = time.GetElapsedTime(began).TotalSeconds;
        return (readS, wholeS, string.Join(" + ", law.Law.Terms.Select(t => string.Create(CultureInfo.InvariantCulture, $"{t.Coefficient:G4} ω^{t.Exponent}"))));
    }

    // In a process of its own whose start is not counted: the second of two readings, with the file in memory as for us.
    private static double Pandas(string pulses, int rows)
    {
        const int Times = 2;
        var start = new ProcessStartInfo("/usr/bin/python3", ["-c", Python, pulses, Times.ToString(CultureInfo.InvariantCulture)]) { RedirectStandardOutput = true };
        using Process python = Process.Start(start)!;
        string[] lines = python.StandardOutput.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries);
        python.WaitForExit();
        if (python.ExitCode != 0 || lines.Length != Times || !lines.All(l => l.EndsWith(" " + rows.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal)))
            throw new InvalidOperationException("pandas (Debian's python3-pandas) did not read the file.");
        return lines.Min(l => double.Parse(l.Split(' ')[0], CultureInfo.InvariantCulture));
    }
}
