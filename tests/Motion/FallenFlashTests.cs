using Acquire.Acquisition;
using Acquire.Conditioning;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

/// <summary>Spins of one mark whose end pulses of other things surround: invented data, the end known.</summary>
public sealed class FallenFlashTests
{
    private const double WidthTurns = 0.024;
    private static readonly ExactSpin Spin = new() { TauS = 60, LastTurnsPerS = 3.1 };

    // The body falls unseen and rolls about; one of its flashes comes when a mark would have, had the body spun on and the mark before been missed, and is as long.
    [Fact]
    public void A_flash_among_others_that_comes_as_a_mark_would_is_none()
    {
        for (int seed = 0; seed < 40; seed++)
        {
            var random = new Random(seed);
            List<(double AtS, double LengthS)> pulses = Marks(random);
            double lastS = pulses[^1].AtS;
            double fallS = lastS + (random.NextDouble() * 0.5 / Spin.LastTurnsPerS);
            double turnS = 1 / Spin.SpeedAt(lastS + 0.3);
            double likeS = lastS + (2 * turnS);
            for (int i = 0; i < 10; i++)
                pulses.Add((fallS + 0.4 + (1.6 * random.NextDouble()), 0.001 + (0.019 * random.NextDouble())));
            pulses.Add((lastS + (1.7 * turnS), 0.012));
            pulses.Add((likeS, WidthTurns * turnS));
            SpinEnd end = Place(pulses, out double firstS);
            Assert.True(Math.Abs(end.StopS - (fallS - firstS)) < 1 / Spin.LastTurnsPerS, $"seed {seed}: {(end.StopS - fallS + firstS) * Spin.LastTurnsPerS:F2} turns off");
        }
    }

    // Marks that come back after some turns foretell the end, not those from before.
    [Fact]
    public void Marks_after_a_gap_of_some_turns_foretell_the_last_ones()
    {
        ExactSpin six = Spin with { MarkOffsets = [0, 0.166, 0.318, 0.493, 0.659, 0.827] };
        var random = new Random(8);
        double fallTurns = six.TurnsAtStop;
        Pulse[] pulses =
        [
            .. six.Marks().Where(m => m.Turns < fallTurns - 32 || m.Turns > fallTurns - 24.2)
                .Select(m => (AtS: m.TimeS + (m.Turns > fallTurns - 28 ? 0.012 : 0) + (15e-6 * ExactSpin.Normal(random)), Speed: six.SpeedAt(m.TimeS)))
                .Select(m => six.PulseAt(m.AtS, (WidthTurns / m.Speed) + (20e-6 * ExactSpin.Normal(random)))),
        ];
        JudgedRun run = RunJudge.Judge(pulses, new TrackerSettings { TickHz = six.TickHz, MarksPerTurn = 6 });
        SpinEnd end = SpinEnd.Place(run, 1 / six.TickHz, 6, 10);
        Assert.Equal(six.StopS - (run.Pulses[0].Ticks / six.TickHz), end.StopS, 1 / six.LastTurnsPerS);
    }

    private static List<(double AtS, double LengthS)> Marks(Random random) =>
    [
        .. Spin.Marks().Select(m => (m.TimeS + (15e-6 * ExactSpin.Normal(random)), (WidthTurns / Spin.SpeedAt(m.TimeS)) + (20e-6 * ExactSpin.Normal(random)))),
    ];

    private static SpinEnd Place(List<(double AtS, double LengthS)> pulses, out double firstS)
    {
        JudgedRun run = RunJudge.Judge([.. pulses.OrderBy(p => p.AtS).Select(p => Spin.PulseAt(p.AtS, p.LengthS))], new TrackerSettings { TickHz = Spin.TickHz, MarksPerTurn = 1 });
        firstS = run.Pulses[0].Ticks / Spin.TickHz;
        return SpinEnd.Place(run, 1 / Spin.TickHz, 1, 10);
    }
}
