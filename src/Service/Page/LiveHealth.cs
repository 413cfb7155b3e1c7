using System.Globalization;
using Acquire.Motion;
using Acquire.Service.Capture;
using Acquire.Service.Display;
using Acquire.Service.Sensor;

namespace Acquire.Service.Page;

/// <summary>How the sensor does, as far as the live state tells, and what to do about it.</summary>
/// <param name="State"><c>good</c>, <c>look</c> (it works, and could be better), <c>bad</c> or <c>unknown</c> (nothing has been seen yet).</param>
/// <param name="Quality">Share of the marks of the last turns that came as predicted, 0 to 1; null where nothing spins.</param>
/// <param name="Says">How it is, for people.</param>
/// <param name="DoThis">What to do; null where nothing is to be done.</param>
internal sealed record LiveHealth(string State, double? Quality, string Says, string? DoThis)
{
    private const double QuietS = 3; // a board says something once a second
    private const double Good = 0.99;
    private const double Poor = 0.95;

    /// <summary>Judges a state.</summary>
    /// <param name="live">The state.</param>
    /// <param name="heardAgoS">Seconds since the source's last sign of life; null before the first.</param>
    public static LiveHealth Of(LiveState live, double? heardAgoS)
    {
        double? quality = double.IsFinite(live.SignalQuality) ? live.SignalQuality : null;
        if (!live.LinkUp)
            return new("bad", null, "There is no link to the sensor's board.", live.Trouble ?? SensorWords.Change(SensorFault.LinkLost));
        if (heardAgoS is null or > QuietS)
            return new("bad", quality, heardAgoS is { } s ? $"The board has said nothing for {Numbers.Clock(s)}." : "The board has said nothing yet.", SensorWords.Change(SensorFault.Silent));
        if (double.IsFinite(live.LampHz))
            return new("bad", null, string.Create(CultureInfo.InvariantCulture, $"The sensor sees lamp light: {live.LampHz:F1} flashes a second."), SensorWords.Change(SensorFault.Lamp));
        if (live.Phase == RunPhase.Lost)
            return new("bad", null, "Marks ceased while the body was still fast; they are waited for.", "See whether something stands between sensor and mark, or the sensor was moved; the run goes on when the marks come back.");
        if (live.Counts.DroppedByBoard > 0)
            return new("look", quality, SensorWords.Count(live.Counts.DroppedByBoard, "pulse") + " found no room in the board.", SensorWords.Change(SensorFault.DroppedByBoard));
        if (live.Counts.LostOnLine > 0)
            return new("look", quality, SensorWords.Count(live.Counts.LostOnLine, "pulse") + " got lost on the line.", SensorWords.Change(SensorFault.LostOnLine));
        if (quality is { } share)
            return OfMarks(share);
        return live.Counts.Received > 0
            ? new("good", null, "The sensor has seen marks; nothing spins.", null)
            : new("unknown", null, "The board speaks; its sensor has seen nothing yet.", "Turn the body by hand so that the mark passes: the board's light must be lit on the mark and nowhere else.");
    }

    private static LiveHealth OfMarks(double share) => share switch
    {
        >= Good => new("good", share, "Marks come as foretold.", null),
        >= Poor => new("look", share, "Some marks do not come as foretold.", SensorWords.Change(SensorFault.UnsteadyWidth)),
        _ => new("bad", share, "Many marks do not come as foretold.", SensorWords.Change(SensorFault.Irregular)),
    };
}
