using Acquire.Acquisition.Simulation;

namespace Acquire.Measure.Ensembles;

/// <summary>An invented session at the bench with all faults mixed: failed launches, a spin, often another soon after.</summary>
/// <param name="Scenario">What is played.</param>
/// <param name="Marks">Marks a turn.</param>
/// <param name="RestartsS">Moments at which the board begins again, seconds.</param>
/// <param name="Silent">True where the sensor was taken away as one of the spins fell.</param>
internal sealed record StopScenario(SpinScenario Scenario, int Marks, IReadOnlyList<double> RestartsS, bool Silent)
{
    private const double LostWaitS = 900;

    /// <summary>The session of a seed.</summary>
    public static StopScenario Of(int seed)
    {
        var noise = new SeededNoise(seed, 201);
        int[] counts = [1, 1, 1, 2, 3, 4, 6, 8];
        int marks = counts[noise.Below(counts.Length)];
        var spins = new List<SpinPlan>();
        for (int failed = noise.Chance(0.3) ? 1 + noise.Below(2) : 0; failed > 0; failed--)
            spins.Add(FailedLaunch(noise));
        spins.Add(Spin(noise, noise.Uniform(3, 15)));
        if (noise.Chance(0.35))
            spins.Add(Spin(noise, noise.Uniform(2, 25)));
        var scenario = new SpinScenario { Seed = seed, Spins = spins, RestAfterS = LostWaitS + 60 };
        SensorSettings sensor = Faults(marks, seed, noise);

        // Where the spins lie in time is known once the motion is laid out; what is taken away from the sensor is laid over them then.
        IReadOnlyList<SpinTruth> truths = new SimulatedSpin(scenario).Spins;
        var blinds = new List<Blind>();
        bool silent = false;
        foreach (SpinTruth truth in truths.Where(IsRun))
            silent |= AddBlinds(truth, noise, blinds);
        return new StopScenario(
            scenario with { Sensor = sensor with { Blind = InOrder(blinds) } }, marks, Restarts(truths[^1].StopS, noise), silent);
    }

    /// <summary>True where a spin is long enough for a run.</summary>
    public static bool IsRun(SpinTruth truth) => truth.SpinTimeS > 20;

    private static SpinPlan FailedLaunch(SeededNoise noise)
    {
        double rpm = noise.Uniform(120, 300);
        return new SpinPlan
        {
            RestBeforeS = noise.Uniform(2, 8),
            Pushes = [new(rpm, noise.Uniform(0.2, 0.8))],
            ToppleRpm = noise.Uniform(0.5, 0.8) * rpm,
            FallS = 0.4,
            RollingS = 2,
            RollingFlashes = noise.Below(10),
        }.Lasting(noise.Uniform(0.2, 1));
    }

    private static SpinPlan Spin(SeededNoise noise, double restS)
    {
        double peak = noise.Uniform(900, 3000);
        var pushes = new List<Push>();
        int count = noise.Chance(0.4) ? 2 + noise.Below(3) : 1;
        for (int i = 1; i <= count; i++)
            pushes.Add(new Push(peak * (i + 1) / (count + 1), noise.Uniform(0.2, 0.9), noise.Uniform(0.1, 2)));
        bool wheel = noise.Chance(0.08);
        return new SpinPlan
        {
            RestBeforeS = restS,
            Pushes = pushes,
            Loss =
            [
                new(0, noise.Uniform(0.005, 0.03)), new(1, noise.Uniform(0, 0.03)), new(1.5, noise.Uniform(0, 0.03)),
                new(2, noise.Uniform(0, 0.02)),
            ],
            ToppleRpm = wheel ? 0 : noise.Uniform(120, 280),
            FallS = noise.Uniform(0.3, 0.9),
            FallSeenShare = noise.Chance(0.5) ? noise.Uniform() : 0,
            RollingS = noise.Uniform(1, 10),
            RollingFlashes = noise.Chance(0.7) ? noise.Below(40) : 0,
            HandFlashes = noise.Below(8),
        }.Lasting(noise.Uniform(60, 240));
    }

    private static SensorSettings Faults(int marks, int seed, SeededNoise noise)
    {
        bool atRest = noise.Chance(0.2);
        bool mixedIn = !atRest && noise.Chance(0.15);
        return new SensorSettings
        {
            MarkOffsetsTurns = SensorSettings.Evenly(marks, 0.06, seed),
            MarkWidthTurns = noise.Uniform(0.01, 0.03),
            JitterS = noise.Uniform(2e-6, 60e-6),
            WobbleTurns = noise.Uniform(0, 0.006) / marks,
            MissProbability = noise.Uniform(0, 0.03),
            MissBurstProbability = noise.Chance(0.5) ? noise.Uniform(0, 0.002) : 0,
            FixedGlintProbability = noise.Chance(0.3) ? noise.Uniform(0, 0.05) : 0,
            FixedGlintTurns = noise.Uniform(0.05, 0.95),
            RandomGlintsPerTurn = noise.Uniform(0, 0.03),
            BounceProbability = noise.Chance(0.5) ? noise.Uniform(0, 0.1) : 0,
            Lamp = atRest ? LampLight.AtRest : mixedIn ? LampLight.MixedIn : LampLight.None,
            LampHz = noise.Chance(0.5) ? 100 : 120,
            LampSeenProbability = mixedIn ? noise.Uniform(0.001, 0.01) : noise.Uniform(0.5, 1),
        };
    }

    // True where the fall itself is taken away from the sensor.
    private static bool AddBlinds(SpinTruth truth, SeededNoise noise, List<Blind> blinds)
    {
        double At(double share) => truth.ReleaseS + (share * (truth.ToppleS - truth.ReleaseS));
        for (int i = noise.Chance(0.4) ? 1 + noise.Below(2) : 0; i > 0; i--)
        {
            double from = At(noise.Uniform(0.1, 0.95));
            double length = Math.Exp(noise.Uniform(Math.Log(1), Math.Log(200)));
            blinds.Add(new Blind(from, Math.Min(from + length, truth.ToppleS - 8)));
        }

        if (!noise.Chance(0.1))
            return false;
        blinds.Add(new Blind(truth.ToppleS - Math.Exp(noise.Uniform(Math.Log(2), Math.Log(60))), truth.StopS + noise.Uniform(0, 20)));
        return true;
    }

    private static List<Blind> InOrder(List<Blind> blinds) => [.. blinds.Where(b => b.EndS > b.StartS + 0.5).OrderBy(b => b.StartS)];

    private static List<double> Restarts(double untilS, SeededNoise noise) =>
        noise.Chance(0.2) ? [noise.Uniform(5, untilS)] : [];
}
