using System.Globalization;

namespace Acquire.Measure;

/// <summary>Measures a few seeds of each ensemble, so that what breaks a bar outright is seen soon. How far a bar is met is said by many seeds only.</summary>
internal static class Sample
{
    /// <summary>Runs the ensembles of those names, all where none is named; prints a line each and at last the counts.</summary>
    /// <returns>1 where a figure is off its bar by more than chance explains, else 0.</returns>
    public static int Run(string[] only)
    {
        (int passed, int failed) = (0, 0);
        foreach (Ensemble ensemble in AllEnsembles.List.Where(e => only.Length == 0 || only.Contains(e.Name)))
        {
            long began = TimeProvider.System.GetTimestamp();
            Figure[] figures = [.. ensemble.Measure(ensemble.Sample).Where(f => f.HasBar)];
            Figure[] missed = [.. figures.Where(f => !f.MayHold)];
            foreach (Figure figure in missed)
                Console.WriteLine($"{ensemble.Name}: FALLS SHORT: {figure.What}: {figure.Found}, bar {figure.Required}");
            int byChance = figures.Count(f => f.MayHold && !f.Holds);
            string chance = byChance > 0 ? $"; {byChance} of them off the bar by no more than chance explains" : "";
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{ensemble.Name}: seeds {ensemble.Sample.First} to {ensemble.Sample.First + ensemble.Sample.Count - 1}: {figures.Length - missed.Length} passed, {missed.Length} failed{chance} ({TimeProvider.System.GetElapsedTime(began).TotalSeconds:F0} s)"));
            passed += figures.Length - missed.Length;
            failed += missed.Length;
        }

        Console.WriteLine($"{passed} passed, {failed} failed");
        return failed == 0 ? 0 : 1;
    }
}
