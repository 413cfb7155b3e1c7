using Acquire.Results.Air;
using Acquire.Results.Bodies;
using Acquire.Results.Losses;

namespace Acquire.Service.Runs;

/// <summary>A body, the air about it and its enclosure: what turns a deceleration into a torque, and a plain disc's drag to lay beside it.</summary>
/// <param name="Rotor">The body.</param>
/// <param name="Air">The air.</param>
/// <param name="AirIs">Where the air's state is from, for people.</param>
/// <param name="ClearanceM">Clearance between body and cover on each side; null for free air.</param>
internal sealed record DragBody(Rotor Rotor, MoistAir Air, string AirIs, double? ClearanceM)
{
    /// <summary>What was measured at a speed, and a disc's drag beside it.</summary>
    /// <param name="Rpm">The speed.</param>
    /// <param name="TorqueNm">Inertia times deceleration, with the uncertainty of both.</param>
    /// <param name="PowerW">Torque times speed.</param>
    /// <param name="Disc">A plain disc of the body's outer radius.</param>
    /// <param name="DiscTorqueNm">Its drag.</param>
    public readonly record struct Row(double Rpm, Estimate TorqueNm, double PowerW, DiscDrag Disc, double DiscTorqueNm);

    /// <summary>Works it out at a speed.</summary>
    /// <param name="rpm">The speed.</param>
    /// <param name="decelRadPerS2">The deceleration there.</param>
    public Row At(double rpm, Estimate decelRadPerS2)
    {
        double omega = rpm * Math.PI / 30;
        double torque = Rotor.InertiaAxisKgM2 * decelRadPerS2.Value;
        double u = double.Hypot(Rotor.InertiaAxisKgM2 * decelRadPerS2.U, Rotor.UInertiaAxisKgM2 * decelRadPerS2.Value);
        DiscDrag disc = Disc(rpm);
        return new Row(rpm, new Estimate(torque, u), torque * omega, disc, disc.TorqueNm(omega, Rotor.OuterRadiusM, Air.DensityKgM3));
    }

    private DiscDrag Disc(double rpm)
    {
        double reynolds = rpm * Math.PI / 30 * Rotor.OuterRadiusM * Rotor.OuterRadiusM / Air.KinematicViscosityM2S;
        return ClearanceM is { } gap ? DiscDrag.Enclosed(reynolds, gap / Rotor.OuterRadiusM) : DiscDrag.Free(reynolds);
    }
}
