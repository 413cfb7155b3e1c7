namespace Acquire.Measure;

/// <summary>One figure beside the bar that it must meet.</summary>
/// <param name="What">What was measured, for people.</param>
/// <param name="Required">The bar, for people.</param>
/// <param name="Found">The figure, for people.</param>
/// <param name="Holds">Whether the figure meets the bar.</param>
public sealed record Figure(string What, string Required, string Found, bool Holds);

/// <summary>The seeds that an ensemble runs: what was tuned on some is checked on others.</summary>
/// <param name="First">The first.</param>
/// <param name="Count">How many.</param>
public readonly record struct Seeds(int First, int Count)
{
    /// <summary>What <paramref name="of"/> gives for each seed, in their order; worked out on all cores.</summary>
    public T[] Each<T>(Func<int, T> of)
    {
        int first = First;
        var each = new T[Count];
        Parallel.For(0, Count, i => each[i] = of(first + i));
        return each;
    }
}

/// <summary>An ensemble of simulated runs with known truth that measures one or more bars.</summary>
/// <param name="Name">What <c>--only</c> names it by.</param>
/// <param name="About">What it simulates, for people.</param>
/// <param name="Measure">Runs the seeds and gives the figures.</param>
public sealed record Ensemble(string Name, string About, Func<Seeds, IReadOnlyList<Figure>> Measure);
