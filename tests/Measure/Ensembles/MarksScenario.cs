using Acquire.Acquisition.Simulation;

namespace Acquire.Measure.Ensembles;

/// <summary>The spins on which the judgement of marks is measured. Invented data; a seed's number chooses its marks, its widths and its
/// speeds, so that any eight seeds in a row have each number of marks once.</summary>
internal static class MarksScenario
{
    internal static int MarksOf(int seed) => 1 + (seed % 8);

    internal static bool GivesWidth(int seed) => seed / 8 % 2 == 0;

    /// <summary>What the bar asks for: misses, glints, uneven spacing, bounce bursts, jitter.</summary>
    internal static SpinScenario Faulty(int seed)
    {
        var noise = new SeededNoise(seed, 70);
        int marks = MarksOf(seed);
        double peakRpm = noise.Uniform(700, 3600);
        double fixedShare = seed % 3 / 2.0; // of the glints: none, half, all at one angle of the body
        double glintsPerTurn = 0.03 * marks;
        return new SpinScenario
        {
            Seed = seed,
            RestAfterS = 40,
            Spins = [Plan(noise, peakRpm, [new Push(peakRpm, noise.Uniform(0.3, 1.5))])],
            Sensor = new SensorSettings
            {
                MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.06, seed),
                MarkWidthTurns = Math.Min(0.02, 0.2 / marks),
                JitterS = noise.Uniform(5e-6, 40e-6),
                MissProbability = 0.03,
                RandomGlintsPerTurn = (1 - fixedShare) * glintsPerTurn,
                FixedGlintProbability = fixedShare * glintsPerTurn,
                FixedGlintTurns = noise.Uniform(),
                BounceProbability = 0.05,
            },
            Board = new BoardSettings { SendsWidth = GivesWidth(seed) },
        };
    }

    /// <summary>The same with a wobble that grows before the fall.</summary>
    internal static SpinScenario Wobbling(int seed) => With(seed, s => s with { WobbleTurns = 0.002, WobbleGrowth = 8 });

    /// <summary>The same with bright places that flash in most turns.</summary>
    internal static SpinScenario BrightPlace(int seed) =>
        With(seed, s => s with { FixedGlintProbability = 0.6 + (0.4 * (seed % 5) / 4), RandomGlintsPerTurn = 0.01 });

    /// <summary>The same with the signal away for some seconds, twice, and bursts of misses.</summary>
    internal static SpinScenario Lossy(int seed)
    {
        var noise = new SeededNoise(seed, 71);
        double first = noise.Uniform(15, 25);
        double second = noise.Uniform(35, 45);
        return With(seed, s => s with
        {
            MissBurstProbability = 0.001,
            Blind = [new Blind(first, first + noise.Uniform(1, 6)), new Blind(second, second + noise.Uniform(1, 6))],
        });
    }

    /// <summary>The same with a launch in several pushes, a hand before it, marks seen into the fall and a body that rolls after it.</summary>
    internal static SpinScenario Handled(int seed)
    {
        SpinScenario scenario = Faulty(seed);
        var noise = new SeededNoise(seed, 72);
        double peak = scenario.Spins[0].Pushes[^1].ToRpm;
        SpinPlan plan = scenario.Spins[0] with
        {
            Pushes =
            [
                new Push(0.4 * peak, noise.Uniform(0.3, 0.8), noise.Uniform(0.2, 0.8)),
                new Push(0.75 * peak, noise.Uniform(0.2, 0.6), noise.Uniform(0.2, 0.8)),
                new Push(peak, noise.Uniform(0.2, 0.6)),
            ],
            HandFlashes = noise.Below(4),
            FallSeenShare = noise.Uniform(0, 0.6),
            RollingS = 10,
            RollingFlashes = noise.Below(30),
        };
        return scenario with { Spins = [plan] };
    }

    /// <summary>The same with another number of marks and no bright place.</summary>
    internal static SpinScenario OfMarks(int seed, int marks) => With(seed, s => s with
    {
        MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.06, seed),
        RandomGlintsPerTurn = 0.03 * marks,
        FixedGlintProbability = 0,
    });

    /// <summary>The same with a bright part under the sensor that a lamp lights while the body is at rest.</summary>
    internal static SpinScenario LampAtRest(int seed) => With(seed, s => s with
    {
        Lamp = LampLight.AtRest,
        LampHz = seed % 2 == 0 ? 100 : 120,
        LampDuty = new SeededNoise(seed, 74).Uniform(0.05, 0.9),
        LampSeenProbability = seed % 4 < 2 ? 1 : 0.9,
    });

    /// <summary>The same under a lamp that the sensor sees all the while.</summary>
    internal static SpinScenario LampMixedIn(int seed)
    {
        var noise = new SeededNoise(seed, 73);
        return With(seed, s => s with
        {
            Lamp = LampLight.MixedIn,
            LampHz = (seed % 2 == 0 ? 100 : 120) * (1 + noise.Uniform(-0.002, 0.002)),
            LampDuty = noise.Uniform(0.05, 0.3),
        });
    }

    private static SpinScenario With(int seed, Func<SensorSettings, SensorSettings> change)
    {
        SpinScenario scenario = Faulty(seed);
        return scenario with { Sensor = change(scenario.Sensor) };
    }

    private static SpinPlan Plan(SeededNoise noise, double peakRpm, IReadOnlyList<Push> pushes) => new SpinPlan
    {
        RestBeforeS = 3,
        Pushes = pushes,
        ToppleRpm = Math.Min(0.4 * peakRpm, noise.Uniform(180, 400)),
    }.Lasting(noise.Uniform(50, 120));
}
