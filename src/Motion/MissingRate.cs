namespace Acquire.Motion;

/// <summary>How often a mark passes unseen, and how often the next one then does too.</summary>
/// <param name="Alone">Probability after one that was seen.</param>
/// <param name="Again">Probability after one that was missed.</param>
internal readonly record struct MissingRate(double Alone, double Again)
{
    private const int Marks = 1200;   // of fewer one in a hundred that is missed says next to nothing

    /// <summary>Counts them over the last many marks of a run up to one; with few the counts say little, and half a miss is added.</summary>
    /// <param name="turns">Angles of the marks, turns, rising.</param>
    /// <param name="last">Index of the last that counts.</param>
    /// <param name="marksPerTurn">Marks on the body.</param>
    public static MissingRate Of(IReadOnlyList<double> turns, int last, int marksPerTurn)
    {
        (double seen, double alone, double missed, double again) = (0, 0, 0, 0);
        for (int i = Math.Max(1, last - Marks + 1); i <= last; i++)
        {
            double passed = Math.Round((turns[i] - turns[i - 1]) * marksPerTurn);
            if (passed > 4 * marksPerTurn && passed > 12)
                continue;
            seen++;
            if (passed < 1.5)
                continue;
            alone++;
            missed += passed - 1;
            again += passed - 2;
        }

        return new MissingRate((alone + 0.5) / (seen + 1), (again + 0.5) / (missed + 2));
    }

    /// <summary>The probability that the next is missed.</summary>
    public double Of(bool wasMissed) => wasMissed ? Again : Alone;
}
