using Acquire.Acquisition;

namespace Acquire.Conditioning;

/// <summary>Finds light of a mains lamp that goes on to the end of a run's pulses: the body fell, and where it stood the sensor now sees a
/// lamp. No mark is told among its flashes, of which there may be more than of marks.</summary>
public static class EndLight
{
    private const int Furthest = 20_000;   // pulses from the end: minutes of light
    private const int PulsesAfter = 64;    // a hand that comes for the next launch ends the beat
    private const double BeatS = 0.08;     // flashes pass unseen for no longer
    private const double Off = 0.06;       // of a flash's period
    private const int Before = 8;          // pulses that tell how fast a body turned that slows to the beat
    private const double Alike = 0.2;

    /// <summary>Index of the first flash; the number of pulses where there is no such light.</summary>
    /// <param name="timeS">When the pulses came, seconds, rising.</param>
    public static int From(ReadOnlySpan<double> timeS)
    {
        var lamp = new LampLight(1e9);
        (int first, int last) = (-1, -1);
        double hz = double.NaN;
        for (int i = Math.Max(0, timeS.Length - Furthest); i < timeS.Length; i++)
        {
            lamp.See(new Pulse((long)(timeS[i] * 1e9), 0, -1));
            if (double.IsNaN(lamp.Hz))
                continue;
            if (first < 0 || last < i - PulsesAfter)
                first = FirstOf(timeS, i, lamp.Hz);
            (last, hz) = (i, lamp.Hz);
        }

        return first <= 0 || last < timeS.Length - PulsesAfter || IsBody(timeS, first, hz) ? timeS.Length : first;
    }

    // Flashes come at an even beat from the first on, some of them unseen.
    private static int FirstOf(ReadOnlySpan<double> timeS, int at, double hz)
    {
        int first = at;
        for (int k = at - 1; k >= 0 && timeS[first] - timeS[k] < BeatS; k--)
        {
            double flashes = (timeS[first] - timeS[k]) * hz;
            if (Math.Abs(flashes - Math.Round(flashes)) < Off && flashes > 0.5)
                first = k;
        }

        return first;
    }

    // One whose marks pass at the beat of light came there from nearly the same speed; light comes at once.
    private static bool IsBody(ReadOnlySpan<double> timeS, int first, double hz) =>
        first >= Before && Math.Abs((Before / (timeS[first] - timeS[first - Before]) / hz) - 1) < Alike;
}
