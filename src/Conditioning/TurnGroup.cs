using System.Runtime.CompilerServices;

namespace Acquire.Conditioning;

/// <summary>The marks of one or more whole turns, taken together.</summary>
internal struct TurnGroup
{
    private double _sumS;
    private double _baseS;
    private double _sumTurns;
    private Seen _seen;

    /// <summary>Its first turn.</summary>
    public long FirstTurn { get; private init; }

    /// <summary>How many turns it spans.</summary>
    public int Turns { get; private init; }

    /// <summary>How many marks were seen.</summary>
    public int Count { get; private set; }

    /// <summary>Mean of their times, seconds.</summary>
    public readonly double TimeS => _baseS + (_sumS / Count);

    /// <summary>Begins with no mark.</summary>
    public static TurnGroup Begin(long turn, int turns, double timeS) => new() { FirstTurn = turn, Turns = turns, _baseS = timeS };

    /// <summary>Takes a mark in.</summary>
    public void Take(double timeS, long turn, int mark)
    {
        _sumS += timeS - _baseS;
        _sumTurns += turn - FirstTurn;
        _seen[mark]++;
        Count++;
    }

    /// <summary>Mean of their places with the offsets as they are known now, turns from a turn.</summary>
    public readonly double TurnsFrom(double originTurns, IReadOnlyList<double> offsets)
    {
        double sum = _sumTurns;
        for (int i = 1; i < offsets.Count; i++)
            sum += _seen[i] * offsets[i];
        return FirstTurn - originTurns + (sum / Count);
    }

    [InlineArray(8)]
    private struct Seen
    {
        private int _first;
    }
}
