namespace Acquire.Measure;

/// <summary>One figure beside the bar that it must meet.</summary>
/// <param name="What">What was measured, for people.</param>
/// <param name="Required">The bar, for people.</param>
/// <param name="Found">The figure, for people.</param>
/// <param name="Holds">Whether the figure meets the bar.</param>
public sealed record Figure(string What, string Required, string Found, bool Holds);

/// <summary>An ensemble of simulated runs with known truth that measures one or more bars.</summary>
/// <param name="Name">What <c>--only</c> names it by.</param>
/// <param name="About">What it simulates, for people.</param>
/// <param name="Measure">Runs so many seeds, from 0 on, and gives the figures.</param>
public sealed record Ensemble(string Name, string About, Func<int, IReadOnlyList<Figure>> Measure);
