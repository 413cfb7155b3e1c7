using MathNet.Numerics.Random;

namespace Acquire.Results.Planning;

/// <summary>A run of a plan.</summary>
/// <param name="Block">Its block, from 1.</param>
/// <param name="Setup">Its set-up, from 0.</param>
public readonly record struct BlockRun(int Block, int Setup);

/// <summary>The order in which set-ups are spun: in blocks that hold each of them once, each block in an order of its own by chance, so that what drifts
/// with time (a wearing tip, a warming room, a tiring hand) falls on all alike.</summary>
public static class BlockedOrder
{
    /// <summary>The most runs of a plan.</summary>
    public const int MostRuns = 10_000;

    /// <summary>Draws it.</summary>
    /// <param name="setups">Set-ups, one or more.</param>
    /// <param name="blocks">Blocks, which is how often each set-up is spun, one or more.</param>
    /// <param name="seed">Where the random numbers begin; the same seed gives the same order.</param>
    /// <remarks>The shuffle is Fisher and Yates's with the numbers of MT19937 (Matsumoto and Nishimura 1998), so that an order does not hang on
    /// what this year's library calls random.</remarks>
    public static IReadOnlyList<BlockRun> Of(int setups, int blocks, int seed)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(setups, 1);
        ArgumentOutOfRangeException.ThrowIfLessThan(blocks, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan((long)setups * blocks, MostRuns, nameof(blocks));
        var random = new MersenneTwister(seed, threadSafe: false);
        var runs = new List<BlockRun>(setups * blocks);
        int[] order = [.. Enumerable.Range(0, setups)];
        for (int block = 1; block <= blocks; block++)
        {
            for (int i = setups - 1; i > 0; i--)
            {
                int j = (int)(random.NextDouble() * (i + 1));
                (order[i], order[j]) = (order[j], order[i]);
            }

            runs.AddRange(order.Select(setup => new BlockRun(block, setup)));
        }

        return runs;
    }
}
