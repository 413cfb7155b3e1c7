namespace Acquire.Conditioning;

/// <summary>Finds the rate of a wobble, times the speed, that explains how the marks come early and late.</summary>
/// <remarks>A least-squares periodogram over windows of some tens of seconds from which a polynomial is taken; what one window proposes
/// must explain the others too, since with one mark a turn a quick wobble looks like a slow one.</remarks>
internal static class WobbleLaw
{
    private const int Windows = 6;
    private const int MostPoints = 500;
    private const double LongestS = 30;
    private const double LeastS = 4;
    private const double LeastCycles = 4;
    private const double Quickest = 0.45;  // wobbles a turn: in a quicker one marks a turn apart do not tell its rate
    private const double FinestStep = 0.2; // cycles over the window
    private const double LeastShare = 0.4; // of the variance, explained by the law in a window
    private const double LeastTurns = 5e-4; // root mean square: less spoils no judgement

    /// <summary>Wobbles a second times turns a second; NaN where there is no such law.</summary>
    /// <param name="table">The marks.</param>
    /// <param name="from">The first mark that is looked at.</param>
    public static double Find(MarkTable table, int from)
    {
        double start = table.At(from);
        double total = table.At(table.Marks.Count - 1) - start;
        double length = Math.Min(LongestS, total / 3);
        if (length < LeastS)
            return double.NaN;
        var windows = new List<Window>();
        for (int i = 0; i < Windows; i++)
        {
            double begins = start + ((total - length) * i / (Windows - 1));
            if (Window.Of(table, begins, begins + length) is { } window)
                windows.Add(window);
        }

        (double best, double most) = (double.NaN, 0);
        foreach (Window window in windows)
        {
            double constant = window.Peak(LeastCycles, Quickest, FinestStep);
            (double share, int explained) = (0, 0);
            foreach (Window other in windows)
            {
                double here = other.Explained(constant);
                share += here;
                explained += here > LeastShare ? 1 : 0;
            }

            if (explained >= 2 && share > most)
                (best, most) = (constant, share);
        }

        return best;
    }

    /// <summary>The residual angles of some seconds.</summary>
    private sealed class Window
    {
        private readonly double[] _timeS;
        private readonly double[] _off;
        private readonly double[] _slow; // integral of the time over the speed, s²
        private readonly double _speed;
        private readonly double _power;

        private Window(double[] timeS, double[] off, double[] slow, double speed)
        {
            (_timeS, _off, _slow, _speed) = (timeS, off, slow, speed);
            foreach (double o in off)
                _power += o * o;
        }

        public static Window? Of(MarkTable table, double fromS, double toS)
        {
            int from = FirstAt(table, fromS);
            int to = FirstAt(table, toS);
            if (to - from < 40)
                return null;
            int stride = 1 + ((to - from) / MostPoints);
            int count = (to - from) / stride;
            double[] time = new double[count];
            double[] angle = new double[count];
            double origin = table.Position(table.Marks[from].Number);
            for (int i = 0; i < count; i++)
            {
                time[i] = table.At(from + (i * stride)) - table.At(from);
                angle[i] = table.Position(table.Marks[from + (i * stride)].Number) - origin;
            }

            double speed = angle[^1] / time[^1];
            double[] slow = Slow(time, angle);
            return new Window(time, Detrend(time, angle), slow, speed);
        }

        // The rate of the highest peak, times the speed.
        public double Peak(double leastCycles, double quickest, double step)
        {
            double length = _timeS[^1];
            double most = Math.Min(quickest * _speed, 0.45 * _timeS.Length / length);
            (double best, double share) = (0, -1);
            for (double hz = leastCycles / length; hz < most; hz += step / length)
            {
                double here = Explained(hz * length / _slow[^1]);
                if (here > share)
                    (best, share) = (hz, here);
            }

            for (double fine = step / 2; fine > step / 40; fine /= 2)
            {
                foreach (double hz in (ReadOnlySpan<double>)[best - (fine / length), best + (fine / length)])
                {
                    double here = Explained(hz * length / _slow[^1]);
                    if (here > share)
                        (best, share) = (hz, here);
                }
            }

            return best * _timeS[^1] / _slow[^1];
        }

        /// <summary>Share of the variance that a wobble of this law explains.</summary>
        public double Explained(double constant)
        {
            (double ss, double sc, double cc, double ys, double yc) = (0, 0, 0, 0, 0);
            for (int i = 0; i < _off.Length; i++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * constant * _slow[i]);
                ss += sin * sin;
                sc += sin * cos;
                cc += cos * cos;
                ys += _off[i] * sin;
                yc += _off[i] * cos;
            }

            double det = (ss * cc) - (sc * sc);
            return det < 1e-9 || _power < LeastTurns * LeastTurns * _off.Length ? 0 : ((cc * ys * ys) - (2 * sc * ys * yc) + (ss * yc * yc)) / det / _power;
        }

        // The integral of the time over the speed, which changes within the window: by pieces.
        private static double[] Slow(double[] time, double[] angle)
        {
            const int Pieces = 12;
            double[] slow = new double[time.Length];
            for (int piece = 0; piece < Pieces; piece++)
            {
                int from = piece * (time.Length - 1) / Pieces;
                int to = (piece + 1) * (time.Length - 1) / Pieces;
                double inverse = (time[to] - time[from]) / (angle[to] - angle[from]);
                for (int i = from + 1; i <= to; i++)
                    slow[i] = slow[from] + (inverse * (time[i] - time[from]));
            }

            return slow;
        }

        private static int FirstAt(MarkTable table, double timeS)
        {
            (int low, int high) = (0, table.Marks.Count - 1);
            while (low < high)
            {
                int middle = (low + high) / 2;
                if (table.At(middle) < timeS)
                    low = middle + 1;
                else
                    high = middle;
            }

            return low;
        }

        // What a polynomial of the fourth degree leaves; by Gram–Schmidt on its powers.
        private static double[] Detrend(double[] time, double[] angle)
        {
            const int Degree = 4;
            double[] off = [.. angle];
            var basis = new List<double[]>();
            for (int d = 0; d <= Degree; d++)
            {
                double[] power = [.. time.Select(t => Math.Pow((2 * t / time[^1]) - 1, d))];
                foreach (double[] b in basis)
                    Remove(power, b);
                double norm = Math.Sqrt(Dot(power, power));
                for (int i = 0; i < power.Length; i++)
                    power[i] /= norm;
                basis.Add(power);
                Remove(off, power);
            }

            return off;
        }

        private static void Remove(double[] from, double[] unit)
        {
            double share = Dot(from, unit);
            for (int i = 0; i < from.Length; i++)
                from[i] -= share * unit[i];
        }

        private static double Dot(double[] a, double[] b)
        {
            double sum = 0;
            for (int i = 0; i < a.Length; i++)
                sum += a[i] * b[i];
            return sum;
        }
    }
}
