namespace Acquire.Motion;

/// <summary>How long after the release the body needs until it does what it does later: a wobble sets in over some seconds, and marks of
/// that time would bend the speed about it. They are left out, and the law carried back over them.</summary>
internal static class Settling
{
    private const int Block = 12;              // marks
    private const double Unlike = 3.2;         // of the mean square: one in eight thousand blocks of twelve by chance
    private const int LikeInARow = 4;
    private const double MostShare = 0.1;      // of the marks
    private const double MostOfPiece = 0.3;    // of a piece of the curve: further it cannot be carried back

    /// <summary>How many of the first marks to leave out.</summary>
    public static int Marks(WobbleFound found)
    {
        double[] rest = found.Rest;
        double usual = MeanSquare(rest, rest.Length / 10, Math.Min(rest.Length, (rest.Length / 10) + 600));
        int leave = 0;
        int near = 0;
        double fromS = found.Marks.TimeS[0];
        int most = found.Marks.FirstAtOrAfter(fromS + (MostOfPiece * found.Curve.PieceS(fromS, ref near)));
        most = Math.Min(most, (int)(rest.Length * MostShare));
        int like = 0;
        for (int from = 0; from + Block <= most && like < LikeInARow; from += Block)
        {
            bool unlike = MeanSquare(rest, from, from + Block) > Unlike * usual;
            like = unlike ? 0 : like + 1;
            if (unlike)
                leave = from + Block;
        }

        // What is just below notice still bends: as much again.
        return Math.Min(most, leave * 3 / 2);
    }

    private static double MeanSquare(double[] rest, int from, int to)
    {
        double sum = 0;
        for (int i = from; i < to; i++)
            sum += rest[i] * rest[i];
        return sum / (to - from);
    }
}
