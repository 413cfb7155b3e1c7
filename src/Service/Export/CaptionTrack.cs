using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Display;
using Acquire.Service.Runs;

namespace Acquire.Service.Export;

/// <summary>A caption of a film.</summary>
/// <param name="FromMs">When it comes up, milliseconds since the film's beginning.</param>
/// <param name="ToMs">When it goes.</param>
/// <param name="Text">What it says, one line.</param>
internal readonly record struct Caption(long FromMs, long ToMs, string Text);

/// <summary>How captions are wanted.</summary>
/// <param name="Span">The part of the run.</param>
/// <param name="IntervalS">How long each stands, seconds.</param>
/// <param name="OffsetS">When the hand lets go in the film, seconds since its beginning.</param>
internal readonly record struct CaptionOrder(ExportSpan Span, double IntervalS, double OffsetS);

/// <summary>Captions that count the time since the release and tell the speed.</summary>
/// <param name="Captions">The captions, in order, none over another.</param>
/// <param name="BeforeFilm">Captions left out, since they would stand before the film begins.</param>
/// <param name="Lost">Captions that say that the signal was lost.</param>
internal sealed record CaptionTrack(IReadOnlyList<Caption> Captions, int BeforeFilm, int Lost)
{
    /// <summary>What stands in place of a speed that was not seen.</summary>
    public const string SignalLost = "signal lost";

    private const double LastForS = 5;

    /// <summary>Makes them.</summary>
    public static CaptionTrack Of(RunData run, CaptionOrder order)
    {
        var captions = new List<Caption>();
        (int before, int lost) = (0, 0);
        double lastS = LastS(run);
        double fromS = order.Span.FromS ?? 0;
        double toS = Math.Min(order.Span.ToS ?? double.PositiveInfinity, lastS);
        var course = new SpeedCourse(run);
        for (long i = 0; fromS + (i * order.IntervalS) < toS; i++)
        {
            double atS = fromS + (i * order.IntervalS);
            double endS = Math.Min(fromS + ((i + 1) * order.IntervalS), toS);
            if (atS < course.FirstS) continue;
            double rpm = course.RpmAt(atS);
            string speed = double.IsFinite(rpm) ? Speed(rpm) : SignalLost;
            if (!Add(captions, order.OffsetS + atS, order.OffsetS + endS, $"{Time(atS, order.IntervalS)}  {speed}")) before++;
            else if (!double.IsFinite(rpm)) lost++;
        }

        if (!(order.Span.ToS < lastS) && lastS >= fromS && !Add(captions, order.OffsetS + lastS, order.OffsetS + lastS + LastForS, End(run, lastS))) before++;
        return new CaptionTrack(captions, before, lost);
    }

    // A caption that begins before the film loses what lies before it.
    private static bool Add(List<Caption> captions, double fromS, double toS, string text)
    {
        long from = Math.Max(0, (long)Math.Round(fromS * 1000));
        long to = (long)Math.Round(toS * 1000);
        if (to <= from) return false;
        captions.Add(new Caption(from, to, text));
        return true;
    }

    private static string End(RunData run, double lastS)
    {
        RunResult result = run.Descriptor.Result;
        if (run.Descriptor.EndReason != EndReasons.Stopped) return $"{Numbers.Clock(lastS)}  {SignalOrRecord(run.Descriptor.EndReason)}";
        string u = result.USpinTimeS is > 0 and < double.PositiveInfinity ? $" (standard uncertainty {Numbers.Uncertainty(result.USpinTimeS)} s)" : "";
        return $"spin time {Numbers.ClockTenths(lastS)}{u}";
    }

    private static string SignalOrRecord(string endReason) => endReason == EndReasons.SignalLost ? SignalLost : "end of the record";

    private static double LastS(RunData run)
    {
        double stopS = run.Descriptor.Result.StopS;
        return (double.IsFinite(stopS) ? stopS : run.Speed.Select(p => p.TimeS).DefaultIfEmpty(run.ReleaseS).Last()) - run.ReleaseS;
    }

    private static string Time(double atS, double intervalS)
    {
        string sign = atS < 0 ? "−" : "";
        return sign + (intervalS < 1 ? Numbers.ClockTenths(Math.Abs(atS)) : Numbers.Clock(Math.Abs(atS) + 1e-9));
    }

    private static string Speed(double rpm) => rpm.ToString(rpm >= 100 ? "F0" : "F1", CultureInfo.InvariantCulture) + " rpm";
}
