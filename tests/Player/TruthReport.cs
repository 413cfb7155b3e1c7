using System.Text.Json;
using Acquire.Acquisition.Simulation;

namespace Acquire.Player;

/// <summary>What is true of the spin that was played, as JSON: camelCase, the unit in each name, seconds of true time.</summary>
internal static class TruthReport
{
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true, PropertyNamingPolicy = JsonNamingPolicy.CamelCase };

    internal static string Json(SimulatedSpin spin, bool whole)
    {
        SpinTruth truth = spin.Spins[0];
        var counts = spin.Pulses().CountBy(pulse => pulse.Origin).ToDictionary(pair => pair.Key, pair => pair.Value);
        double highest = Math.Floor(truth.PeakRpm / 100) * 100;
        double lowest = Math.Ceiling(truth.Plan.ToppleRpm / 100) * 100;
        var passed = new List<object>();
        for (double rpm = highest; rpm >= lowest; rpm -= 50)
            passed.Add(new { Rpm = rpm, AfterReleaseS = truth.TimeAtSpeedS(rpm) - truth.ReleaseS });
        double from = truth.PeakRpm >= 2000 ? 2000 : highest;
        double to = truth.Plan.ToppleRpm <= 500 ? 500 : lowest;
        return JsonSerializer.Serialize(
            new
            {
                Invented = true,
                PlayedWhole = whole,
                spin.Scenario.Seed,
                truth.PeakRpm,
                truth.Plan.ToppleRpm,
                truth.LaunchS,
                truth.ReleaseS,
                truth.ToppleS,
                truth.StopS,
                truth.SpinTimeS,
                truth.Turns,
                truth.LaunchTurns,
                truth.FreeTurns,
                Marks = spin.Scenario.Sensor.MarkOffsetsTurns.Count,
                MarksSeen = counts.GetValueOrDefault(PulseOrigin.Mark),
                Extras = counts.Where(pair => pair.Key != PulseOrigin.Mark).Sum(pair => pair.Value),
                BoardRatePpm = spin.Clock.MeanRatePpm(truth.ReleaseS, truth.ToppleS),
                DecayTime = new { FromRpm = from, ToRpm = to, TimeS = truth.DecayTimeS(from, to) },
                Passed = passed,
            },
            Indented);
    }
}
