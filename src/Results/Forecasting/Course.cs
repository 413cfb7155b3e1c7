using Acquire.Results.Losses;

namespace Acquire.Results.Forecasting;

/// <summary>A course that the spin may take. Where the time in a cell of speed is known otherwise, the law gives only how it is spread within the cell.</summary>
/// <param name="Law">Its law, by the clock of the source.</param>
/// <param name="Now">Speed at the end of the data, rad/s.</param>
/// <param name="End">Speed at the end of the spin, rad/s.</param>
/// <param name="Clock">True seconds in one of the clock's.</param>
/// <param name="Cells">Loss over the law's in cells of speed, none overlapping.</param>
internal sealed record Course(LossLaw Law, double Now, double End, double Clock, IReadOnlyList<LossCell> Cells)
{
    /// <summary>True time from one speed down to another; 0 where the second is not lower.</summary>
    public double TimeS(double fromRadPerS, double toRadPerS) => TimeS(fromRadPerS, toRadPerS, Law, []);

    /// <summary>The same with something changed.</summary>
    /// <param name="fromRadPerS">The higher speed.</param>
    /// <param name="toRadPerS">The lower speed.</param>
    /// <param name="law">The law with its terms changed.</param>
    /// <param name="bands">Loss over what it was, in bands that may overlap.</param>
    public double TimeS(double fromRadPerS, double toRadPerS, LossLaw law, IReadOnlyList<LossCell> bands)
    {
        if (!(fromRadPerS > toRadPerS))
            return 0;
        LossCell[] all = [.. Cells, .. bands];
        double[] edges = [fromRadPerS, .. all.SelectMany(c => new[] { c.From, c.To }).Where(w => w < fromRadPerS && w > toRadPerS).OrderDescending(), toRadPerS];
        double sum = 0;
        for (int i = 1; i < edges.Length; i++)
        {
            if (edges[i - 1] <= edges[i])
                continue;
            double middle = 0.5 * (edges[i - 1] + edges[i]);
            double times = 1;
            foreach (LossCell cell in all)
                times *= cell.From > middle && cell.To < middle ? cell.Times : 1;
            sum += law.TimeBetween(edges[i - 1], edges[i]) / times;
        }

        return Clock * sum;
    }

    /// <summary>Speed at moments from now on, rad/s; 0 after the end.</summary>
    public double[] SpeedRadPerS(IReadOnlyList<double> timesS)
    {
        const int Steps = 4;
        double[] speeds = new double[timesS.Count];
        (double speed, double at) = (Now, 0);
        double slower = Cells.Where(c => c.From <= Now * (1 + 1e-9)).Select(c => c.Times).DefaultIfEmpty(1).Last();
        for (int i = 0; i < speeds.Length && speed > End; i++)
        {
            double h = (timesS[i] - at) / Clock / Steps * slower;
            for (int k = 0; k < Steps && speed > End; k++)
            {
                // The midpoint rule: for a picture.
                double half = Math.Max(0, speed - (h / 2 * Law.Deceleration(speed)));
                speed = Math.Max(0, speed - (h * Law.Deceleration(half)));
            }

            (at, speeds[i]) = (timesS[i], speed > End ? speed : 0);
        }

        return speeds;
    }
}

/// <summary>A cell of speed in which the loss is so many times that of the law.</summary>
/// <param name="From">Its upper end, rad/s.</param>
/// <param name="To">Its lower end, rad/s.</param>
/// <param name="Times">The loss over the law's.</param>
internal readonly record struct LossCell(double From, double To, double Times);

/// <summary>A cell of speed that the spin has passed.</summary>
/// <param name="Band">The cell.</param>
/// <param name="Seconds">The time that it took, by the clock of the source.</param>
public readonly record struct SeenCell(SpeedBand Band, double Seconds);
