using System.Globalization;
using Acquire.Recording;
using Acquire.Results.Best;
using Acquire.Results.Losses;
using Acquire.Service.Runs;

namespace Acquire.Service.Display;

/// <summary>The longest spins for people.</summary>
/// <param name="Spins">They, the longest first.</param>
/// <param name="TargetS">The time to be reached, seconds; null where none is given.</param>
internal sealed record BestText(IReadOnlyList<BestSpin> Spins, double? TargetS)
{
    /// <summary>Headings of the table of spins.</summary>
    public string[] Headings => ["top", "set-up", ">runs", ">longest", ">±/s", .. TargetS is null ? Array.Empty<string>() : [">to the target"], ">peak/rpm", ">last/rpm", "run"];

    /// <summary>Headings of a table of bands.</summary>
    public static readonly string[] BandHeadings = [">from/rpm", ">to/rpm", ">time/s", ">tip/%", ">viscous/%", ">air/%"];

    /// <summary>Writes it.</summary>
    public void Write(Surroundings surroundings)
    {
        TextWriter output = surroundings.Out;
        output.WriteLine("The longest spin of each top and set-up" + (TargetS is { } t ? $", beside a target of {Numbers.ClockTenths(t)}" : ""));
        output.WriteLine();
        CompareText.WriteTable(surroundings, Headings, Rows());
        foreach (BestSpin spin in Spins.Where(s => s.IsWorkedOut))
        {
            output.WriteLine();
            output.WriteLine(Title(spin));
            foreach (string limit in Limits(spin)) output.WriteLine("  " + limit);
            if (spin.Bands.Count > 0) CompareText.WriteTable(surroundings, BandHeadings, BandRows(spin));
        }

        output.WriteLine();
        foreach (string remark in Remarks()) output.WriteLine(remark);
        output.Flush();
    }

    /// <summary>A row for each.</summary>
    public IEnumerable<string[]> Rows() => Spins.Select(s => (string[])
    [
        Name(s.Descriptor.Setup.Top), BestSpin.Setup(s.Descriptor.Setup), s.Runs.ToString(CultureInfo.InvariantCulture),
        (s.EndSeen ? "" : ">= ") + Numbers.ClockTenths(s.Result.SpinTimeS), Numbers.Uncertainty(s.Result.USpinTimeS),
        .. TargetS is null ? Array.Empty<string>() : [Gap(s)],
        Numbers.Measured(s.Result.PeakRpm, s.Result.UPeakRpm), Numbers.Measured(s.Result.LastRpm, double.NaN), s.Run.Name,
    ]);

    /// <summary>A row for each band of a spin.</summary>
    public static IEnumerable<string[]> BandRows(BestSpin spin) => spin.Bands.Select(b => (string[])
    [
        Rpm(b.Band.FromRpm), Rpm(b.Band.ToRpm), double.IsFinite(b.TimeS) ? b.TimeS.ToString("F0", CultureInfo.InvariantCulture) : "lost", Share(b.Tip), Share(b.Viscous), Share(b.Air),
    ]);

    /// <summary>A spin in a line.</summary>
    public string Title(BestSpin spin)
    {
        string setup = BestSpin.Setup(spin.Descriptor.Setup);
        return $"{Name(spin.Descriptor.Setup.Top)}{(setup.Length > 0 ? ", " + setup : "")}: {(spin.EndSeen ? "" : "at least ")}{Numbers.ClockTenths(spin.Result.SpinTimeS)} ({spin.Run.Name}){(TargetS is null ? "" : "; " + Reached(spin))}";
    }

    /// <summary>What limits it, a sentence a line; only what its data tell.</summary>
    public IEnumerable<string> Limits(BestSpin spin)
    {
        double best = spin.BestLaunch.Descriptor!.Result.PeakRpm;
        if (spin.StartedSlower)
            yield return Text($"Start: released at {spin.Result.PeakRpm:F0} rpm, the best launch of this top at {best:F0} rpm ({spin.BestLaunch.Name}){Worth(spin.LaunchGain)}{WithLaunch(spin)}.");
        else if (spin.Result.PeakRpm > 0)
            yield return Text($"Start: released at {spin.Result.PeakRpm:F0} rpm, {(spin.BestLaunch.Name == spin.Run.Name ? "the best launch of this top" : "as fast as the best launch of this top as far as is known")}.");
        if (!spin.FollowsLaw) yield return "Loss: no law of powers follows it, so that the shares of tip and air cannot be told from this spin.";
        if (spin.FellEarly)
            yield return Text($"Fall: last seen at {spin.Result.LastRpm:F0} rpm; this top has stood down to {spin.LowestFall!.Descriptor!.Result.LastRpm:F0} rpm ({spin.LowestFall.Name}){Worth(spin.FallGain)}.");
        if (End(spin) is { } end) yield return end;
        if (spin.Descriptor.Budget is { } budget)
            yield return $"Clock: {Numbers.Uncertainty(budget.ClockS)} s of the time's standard uncertainty of {Numbers.Uncertainty(spin.Result.USpinTimeS)} s is the clock's{(spin.Descriptor.Clock.HostClock == "synchronised" ? "" : $" (the computer's own clock: {spin.Descriptor.Clock.HostClock})")}.";
    }

    private IEnumerable<string> Remarks()
    {
        if (Spins.Any(s => s.FollowsLaw))
            yield return $"Shares are of the deceleration at the middle of the band, ± their standard uncertainty; one that is not known within {100 * BandLoss.WidestTold:0} points (95 %) is not told. Tip: does not change with speed; viscous: grows as the speed; air: grows faster. What a faster start or a later fall is worth is by the run's own loss law, with 95 % intervals; where no law follows it, a limit by its own deceleration.";
        if (Spins.Any(s => !s.IsWorkedOut)) yield return "What limits the others: acquire best --count N, or acquire spindown RUN.";
    }

    private static string? End(BestSpin spin) => spin.Descriptor.EndReason switch
    {
        EndReasons.Stopped when spin.Descriptor.Stop is { Witnessed: false } => "End: " + RunWords.EndUnseen(spin.Descriptor.Stop) + ".",
        EndReasons.Stopped => null,
        EndReasons.SignalLost => Text($"End: the marks ceased at {spin.Result.LastRpm:F0} rpm and did not come back; how long it spun on was not seen."),
        EndReasons.SourceLost => Text($"End: the sensor's link was lost at {spin.Result.LastRpm:F0} rpm; how long it spun on was not seen."),
        EndReasons.Operator => Text($"End: ended by the user at {spin.Result.LastRpm:F0} rpm."),
        _ => Text($"End: the capture was cut short at {spin.Result.LastRpm:F0} rpm; how long it spun on was not seen."),
    };

    private string WithLaunch(BestSpin spin)
    {
        if (TargetS is not { } target || spin.Reached(target) != false || spin.LaunchGain is not { } gain) return "";
        if (gain.LowS >= target - spin.Result.SpinTimeS) return "; that alone would reach the target";
        return gain.HighS < target - spin.Result.SpinTimeS ? $"; that alone would leave {Numbers.Clock(target - spin.Result.SpinTimeS - gain.HighS)} or more to the target" : "; whether that alone would reach the target is open";
    }

    private string Gap(BestSpin spin) => spin.Reached(TargetS!.Value) switch
    {
        true => "reached",
        null => "not told",
        false => Numbers.ClockTenths(TargetS.Value - spin.Result.SpinTimeS),
    };

    private string Reached(BestSpin spin) => spin.Reached(TargetS!.Value) switch
    {
        true => $"the target is reached, by {Numbers.ClockTenths(spin.Result.SpinTimeS - TargetS.Value)}",
        null => $"whether the target is reached its {(spin.EndSeen ? "uncertainty" : "unseen end")} leaves open",
        false => $"{Numbers.ClockTenths(TargetS.Value - spin.Result.SpinTimeS)} short of the target",
    };

    private static string Worth(GainedTime? gain) => gain switch
    {
        null => "",
        { Seconds: double.NaN, HighS: double.PositiveInfinity } => $": worth at least {Seconds(gain.LowS, 0)}",
        { Seconds: double.NaN } => $": worth at most {Seconds(gain.HighS, 0)}",
        _ => $": worth {Seconds(gain.Seconds, gain.HighS - gain.LowS)} ({Seconds(gain.LowS, gain.HighS - gain.LowS)} to {Seconds(gain.HighS, gain.HighS - gain.LowS)}){(gain.IsExtended ? ", by its loss law beyond the speeds it was seen at" : "")}",
    };

    private static string Seconds(double seconds, double width) => seconds >= 120 ? Numbers.Clock(seconds)
        : seconds.ToString(width is > 0 and < 2 ? "F1" : "F0", CultureInfo.InvariantCulture) + " s";

    private static string Share(Estimate share) => !BandLoss.IsTold(share) ? Numbers.None
        : share.U < 0.005 ? Text($"{100 * share.Value:F1} ± {100 * share.U:F1}") : Text($"{100 * share.Value:F0} ± {100 * share.U:F0}");

    private static string Name(string top) => top.Length > 0 ? top : "not given";

    private static string Rpm(double rpm) => rpm.ToString("0.#", CultureInfo.InvariantCulture);

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
