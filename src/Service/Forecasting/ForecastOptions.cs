using System.CommandLine;
using System.Globalization;
using Acquire.Results;
using Acquire.Results.Bodies;
using Acquire.Results.Forecasting;
using Acquire.Service.Bodies;
using Acquire.Service.Commands;

namespace Acquire.Service.Forecasting;

/// <summary>What a forecast is asked for.</summary>
/// <param name="End">The speed at which the spin ends; null where neither the user nor a body's file says.</param>
/// <param name="StartRpm">Speed at which another spin begins; null where it begins as this one.</param>
/// <param name="Change">What would be otherwise.</param>
/// <param name="Words">What is asked, in words; empty where nothing is.</param>
internal sealed record ForecastCall(EndSpeed? End, double? StartRpm, SpinChange Change, string Words);

/// <summary>The options that tell the end of a spin and what would be otherwise in another.</summary>
internal sealed class ForecastOptions
{
    private readonly Option<string> _rotor = new("--rotor") { HelpName = "FILE", Description = "The body's file (acquire rotor --help): its topple speed ends the spin. [default: where earlier spins of the same top ended, else assumed]" };
    private readonly NumberOption _end = new("--end", "RPM", "The speed at which the spin ends, where you know it.", 1, 1e6, "rpm");
    private readonly NumberOption _start = new("--start", "RPM", "Also: how long a whole spin from this speed would last.", 1, 1e6, "rpm");
    private readonly Option<string> _other = new("--other-rotor") { HelpName = "FILE", Description = "Also: how long another body would spin; needs --rotor." };
    private readonly Option<string[]> _whatIf = new("--what-if") { HelpName = "PART.KEY=VALUE", Description = "Also: how long the body of --rotor would spin with this changed, such as rim.densityKgM3=8500; repeatable." };
    private readonly NumberOption _inertia = new("--inertia-times", "X", "Also: with the inertia so many times itself, such as 1.2.", 0.01, 100, "times");
    private readonly NumberOption _mass = new("--mass-times", "X", "Also: with the mass so many times itself.", 0.01, 100, "times");
    private readonly NumberOption _tip = new("--tip-power", "P", "Power of the weight in the tip's friction: 1.333 for a round tip, 1 for one worn flat. [default: 1.333]", 1, 1.5, "");
    private readonly Option<string[]> _loss = new("--loss") { HelpName = "RPM-RPM=PCT", Description = "Also: with the loss between two speeds changed by percent, such as 2500-1000=-10; repeatable." };

    /// <summary>Gives a command these options.</summary>
    public void AddTo(Command command)
    {
        foreach (Option option in new Option[] { _rotor, _end.Option, _start.Option, _other, _whatIf, _inertia.Option, _mass.Option, _tip.Option, _loss })
            command.Options.Add(option);
    }

    /// <summary>Whether any was given of those that are about another spin.</summary>
    public bool IsOther(ParseResult call) => call.GetValue(_other) is not null || (call.GetValue(_whatIf) ?? []).Length + (call.GetValue(_loss) ?? []).Length > 0
        || new[] { _start, _inertia, _mass, _tip }.Any(o => call.GetValue(o.Option) is not null);

    /// <summary>Reads them.</summary>
    /// <returns>Null with what is wrong in <paramref name="problems"/>.</returns>
    public ForecastCall? Read(ParseResult call, Surroundings surroundings, List<string> problems)
    {
        (double? end, double? start) = (_end.Read(call, problems), _start.Read(call, problems));
        (double? inertia, double? mass, double? tip) = (_inertia.Read(call, problems), _mass.Read(call, problems), _tip.Read(call, problems));
        List<BandChange> bands = [.. (call.GetValue(_loss) ?? []).Select(text => Band(text, problems)).OfType<BandChange>()];
        string[] changes = call.GetValue(_whatIf) ?? [];
        Rotor? body = Body(call.GetValue(_rotor), [], surroundings, problems);
        if (call.GetValue(_rotor) is null && (changes.Length > 0 || call.GetValue(_other) is not null))
            problems.Add("--other-rotor and --what-if say what is other than in the body that was spun: they need its file, --rotor");
        if (changes.Length > 0 && call.GetValue(_other) is not null)
            problems.Add("--other-rotor and --what-if both name another body; give one of them");
        if (problems.Count > 0) return null;
        Rotor? other = changes.Length > 0 ? Body(call.GetValue(_rotor), changes, surroundings, problems) : Body(call.GetValue(_other), [], surroundings, problems);
        if (problems.Count > 0) return null;
        SpinChange change = SpinChange.None with { Bands = bands, TipPower = tip ?? SpinChange.BallTip };
        if (body is not null && other is not null) change = change.With(body, other);
        change = change with { InertiaTimes = change.InertiaTimes * (inertia ?? 1), MassTimes = change.MassTimes * (mass ?? 1) };
        EndSpeed? ends = end is { } rpm ? new EndSpeed(rpm, 0, double.PositiveInfinity, EndBasis.Given)
            : body is { ToppleRpm: > 0 } ? EndSpeed.OfRotor(body.ToppleRpm) : null;
        string[] words =
        [
            .. start is { } s ? [Text($"from {s:0.#} rpm")] : Array.Empty<string>(),
            .. other is not null ? [changes.Length > 0 ? "with " + string.Join(", ", changes) : $"with {(other.Name.Length > 0 ? other.Name : call.GetValue(_other))}"] : Array.Empty<string>(),
            .. inertia is { } i ? [Text($"with {i:0.###} times the inertia")] : Array.Empty<string>(), .. mass is { } m ? [Text($"with {m:0.###} times the mass")] : Array.Empty<string>(),
            .. bands.Select(b => Text($"with {100 * (b.Share - 1):+0.#;−0.#} % loss from {b.Band.FromRpm:0.#} to {b.Band.ToRpm:0.#} rpm")),
        ];
        return new ForecastCall(ends, start, change, string.Join(", ", words));
    }

    private static Rotor? Body(string? file, string[] changes, Surroundings surroundings, List<string> problems)
    {
        if (file is null) return null;
        RotorReading reading = RotorFile.Read(surroundings.FullPath(file), changes);
        problems.AddRange(reading.Problems);
        foreach (string warning in changes.Length > 0 ? [] : reading.Warnings) surroundings.Error.WriteLine("acquire forecast: " + warning);
        return reading.Rotor;
    }

    private static BandChange? Band(string text, List<string> problems)
    {
        string[] sides = text.Split('=');
        string[] speeds = sides[0].Split('-', '–');
        if (sides.Length == 2 && speeds.Length == 2 && Number(speeds[0]) is > 0 and { } one && Number(speeds[1]) is >= 0 and { } other && one != other
            && Number(sides[1].TrimEnd('%').Replace('−', '-')) is > -100 and <= 1000 and { } percent)
            return new BandChange(new SpeedBand(Math.Max(one, other), Math.Min(one, other)), 1 + (percent / 100));
        problems.Add($"--loss: '{text}'; allowed are two speeds in rpm and a change in percent from above -100 to 1000, such as 2500-1000=-10");
        return null;
    }

    private static double? Number(string text) => double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && double.IsFinite(value) ? value : null;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
