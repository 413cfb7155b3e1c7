using System.Globalization;

namespace Acquire.Benchmarks;

/// <summary>How long a long run's journal takes to become a package, by steps.</summary>
internal static class FinishTable
{
    internal static int Run(MeasureOptions options)
    {
        using var folder = new ScratchFolder(options.Folder);
        string journal = Path.Combine(folder.Path, "run.journal");
        var spin = new SpinBytes(options.Pulses);
        FinishRun.MakeJournal(journal, spin);
        var all = new List<(double S, FinishRun Run)>();
        for (int repeat = -1; repeat < options.Repeats; repeat++)
        {
            string library = Path.Combine(folder.Path, "runs");
            var run = new FinishRun(journal, library);
            double elapsedS = run.Measure(spin.Pulses);
            Directory.Delete(library, recursive: true);
            GC.Collect();
            // The first is slower by what is compiled in it, and is a program's only one as a rule: it is shown too.
            Print(repeat < 0 ? "first" : $"repeat {repeat + 1}", elapsedS, run);
            if (repeat >= 0)
                all.Add((elapsedS, run));
        }

        all.Sort((a, b) => a.S.CompareTo(b.S));
        Print($"median of {all.Count}", all[all.Count / 2].S, all[all.Count / 2].Run);
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{spin.Pulses} pulses; journal {new FileInfo(journal).Length * 1e-6:F0} MB, package {all[0].Run.PackageBytes * 1e-6:F0} MB, {Environment.ProcessorCount} cores for this process"));
        return 0;
    }

    private static void Print(string name, double elapsedS, FinishRun run) => Console.WriteLine(string.Create(
        CultureInfo.InvariantCulture,
        $"{name,-12} {elapsedS,6:F2} s = {string.Join(" + ", run.Steps.Select(step => Text(step.Step, step.S)))}"));

    private static string Text(string step, double seconds) => string.Create(CultureInfo.InvariantCulture, $"{step} {seconds:F2}");
}
