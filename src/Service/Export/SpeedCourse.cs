using Acquire.Motion;
using Acquire.Service.Runs;

namespace Acquire.Service.Export;

/// <summary>The speed of a run at any moment that was seen, seconds since the release: between two rows that stand beside each other, both of them
/// seen, on the line between them; the release with its peak is a row among them, since a line across it would cut the peak off.</summary>
internal sealed class SpeedCourse
{
    private const double Near = 1e-6;
    private readonly (double TimeS, double Rpm)[] _rows;
    private readonly double _gridS = double.PositiveInfinity;

    /// <summary>Takes it from a run.</summary>
    public SpeedCourse(RunData run)
    {
        var rows = new List<(double TimeS, double Rpm)>();
        double peak = run.Descriptor.Result.PeakRpm;
        bool peaked = !double.IsFinite(peak) || !double.IsFinite(run.Descriptor.Result.ReleaseS);
        foreach (SpeedPoint point in run.Speed)
        {
            double t = point.TimeS - run.ReleaseS;
            if (!peaked && t >= -Near)
            {
                if (t > Near) rows.Add((0, peak));
                peaked = true;
            }

            if (rows.Count > 0) _gridS = Math.Min(_gridS, rows[^1].TimeS == 0 ? double.PositiveInfinity : t - rows[^1].TimeS);
            rows.Add((t, point.Rpm));
        }

        _rows = [.. rows];
    }

    /// <summary>The first moment; infinite of a run without rows.</summary>
    public double FirstS => _rows.Length > 0 ? _rows[0].TimeS : double.PositiveInfinity;

    /// <summary>The speed, rpm; NaN where it was not seen.</summary>
    public double RpmAt(double timeS)
    {
        int after = FirstAtOrAfter(timeS - Near);
        if (after == _rows.Length) return double.NaN;
        (double nextS, double nextRpm) = _rows[after];
        if (nextS - timeS <= Near) return nextRpm;
        if (after == 0 || nextS - _rows[after - 1].TimeS > 1.5 * _gridS) return double.NaN;
        (double lastS, double lastRpm) = _rows[after - 1];
        return lastRpm + ((nextRpm - lastRpm) * (timeS - lastS) / (nextS - lastS));
    }

    private int FirstAtOrAfter(double timeS)
    {
        (int low, int high) = (0, _rows.Length);
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (_rows[middle].TimeS < timeS) low = middle + 1;
            else high = middle;
        }

        return low;
    }
}
