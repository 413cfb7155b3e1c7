namespace Acquire.Service.Sensor;

/// <summary>Tells light of a mains lamp from marks: it flashes at twice the mains' frequency, at a multiple of that, or with one half-wave
/// weaker at the mains' own, and unlike a body it does not slow down.</summary>
/// <remarks>Each second is looked at on its own: the pulses are laid round a circle once a flash, and their mean vector is long where they
/// keep time with it (Mardia and Jupp, Directional Statistics, 2.3).</remarks>
internal static class LampFinder
{
    /// <summary>Flashes a second that are looked for; the lowest that fits is named.</summary>
    internal static readonly IReadOnlyList<double> NominalHz = [50, 60, 100, 120, 200, 240, 300, 360];

    private const double WindowS = 1;
    private const int LeastPulses = 20;
    private const double StepHz = 0.2;
    private const double FurthestOff = 0.008; // 0.5 % of a resonator and what the mains' frequency strays
    private const double LeastVector = 0.85;
    private const double FurthestFromFlash = 0.2; // of a period
    private const double LeastOneApart = 0.4;
    private const double LeastShare = 0.25;
    private const double LargestChange = 1e-3; // of the frequency over the watch: mains stay within, bodies slow down by more

    /// <summary>The frequency of the lamp, flashes a second by the board's clock; null where none is seen.</summary>
    internal static double? Find(IReadOnlyList<double> timeS)
    {
        if (timeS.Count < LeastPulses)
            return null;
        var found = new List<Comb>();
        for (int from = 0; from < timeS.Count;)
        {
            int to = from;
            while (to < timeS.Count && timeS[to] < timeS[from] + WindowS)
                to++;
            if (to - from >= LeastPulses && Look([.. timeS.Skip(from).Take(to - from)]) is { } comb)
                found.Add(comb);
            from = to;
        }

        Comb[] same = found.GroupBy(comb => comb.NominalHz).MaxBy(group => group.Sum(comb => comb.Pulses))?.ToArray() ?? [];
        bool enough = same.Sum(comb => comb.Pulses) >= LeastShare * timeS.Count;
        return enough && !Slows(same) ? Spread.Quantile(same.Select(comb => comb.Hz), 0.5) : null;
    }

    private static Comb? Look(double[] timeS)
    {
        foreach (double nominal in NominalHz)
        {
            (double Length, double Phase, double Hz) best = default;
            for (double hz = nominal * (1 - FurthestOff); hz <= nominal * (1 + FurthestOff); hz += StepHz)
            {
                (double length, double phase) = Vector(timeS, hz);
                if (length > best.Length)
                    best = (length, phase, hz);
            }

            if (best.Length >= LeastVector && Fit(timeS, best.Hz, best.Phase) is { } fitted)
                return new Comb(nominal, fitted, timeS[0], timeS.Length);
        }

        return null;
    }

    private static (double Length, double Phase) Vector(double[] timeS, double hz)
    {
        double x = 0;
        double y = 0;
        foreach (double at in timeS)
        {
            (double sin, double cos) = Math.SinCos(2 * Math.PI * hz * (at - timeS[0]));
            x += cos;
            y += sin;
        }

        return (Math.Sqrt((x * x) + (y * y)) / timeS.Length, Math.Atan2(y, x) / (2 * Math.PI));
    }

    // Numbers the flashes and fits their time by least squares; what lies between two flashes is left out. Null where most are not one
    // flash apart: a body whose marks come at a whole fraction of the frequency, or bursts that fall together.
    private static double? Fit(double[] timeS, double hz, double phase)
    {
        var flashes = new List<double>(timeS.Length);
        var timesS = new List<double>(timeS.Length);
        int oneApart = 0;
        foreach (double at in timeS)
        {
            double place = (hz * (at - timeS[0])) - phase;
            double flash = Math.Round(place);
            if (Math.Abs(place - flash) > FurthestFromFlash)
                continue;
            oneApart += flashes.Count > 0 && flash - flashes[^1] == 1 ? 1 : 0;
            flashes.Add(flash);
            timesS.Add(at);
        }

        if (flashes.Count < LeastPulses || oneApart < LeastOneApart * timeS.Length)
            return null;
        double slope = Slope([.. flashes], [.. timesS]);
        return slope > 0 ? 1 / slope : null;
    }

    private static bool Slows(Comb[] seconds) =>
        seconds.Length >= 3
        && Math.Abs(Slope([.. seconds.Select(comb => comb.AtS)], [.. seconds.Select(comb => comb.Hz)])) * (seconds[^1].AtS - seconds[0].AtS)
            > LargestChange * seconds[0].Hz;

    private static double Slope(double[] x, double[] y)
    {
        double meanX = x.Average();
        double meanY = y.Average();
        double xx = 0;
        double xy = 0;
        for (int i = 0; i < x.Length; i++)
        {
            xx += (x[i] - meanX) * (x[i] - meanX);
            xy += (x[i] - meanX) * (y[i] - meanY);
        }

        return xy / xx;
    }

    private readonly record struct Comb(double NominalHz, double Hz, double AtS, int Pulses);
}
