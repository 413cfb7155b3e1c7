using Acquire.Acquisition;
using Xunit;

namespace Acquire.Conditioning.Tests;

/// <summary>Moments that are wrong, and bodies that are flicked: the first must not bend the track, the second must. Invented data.</summary>
public sealed class WrongMomentTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(3)]
    public void A_wrong_moment_in_a_steady_spin_leaves_the_track_where_it_was(int marks)
    {
        for (int seed = 0; seed < 100; seed++)
        {
            var random = new Random(seed);
            var spin = new ExactSpin { TickHz = 1e9, MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (double)i / marks)] };
            List<(double TimeS, int Mark, double Turns)> truth = [.. spin.Marks()];
            var wrong = new HashSet<int>();
            for (int i = 0; i < 8; i++)
                wrong.Add(random.Next(100 * marks, truth.Count - 20));
            var tracker = new MarkTracker(new TrackerSettings { TickHz = spin.TickHz, MarksPerTurn = marks });
            var judged = new List<JudgedPulse>();
            for (int i = 0; i < truth.Count; i++)
            {
                double off = wrong.Contains(i) && !wrong.Contains(i - 1) ? ((0.2 * random.NextDouble()) - 0.1) / marks / spin.SpeedAt(truth[i].TimeS) : 0;
                tracker.Add(spin.PulseAt(truth[i].TimeS + off), judged);
            }

            Assert.True(tracker.IsLocked);
            Assert.Equal(1, tracker.LockNumber);
            for (int i = 0; i < truth.Count; i++)
            {
                Assert.True(wrong.Contains(i) || judged[i].Kind == PulseKind.Mark, $"seed {seed}: mark {i} at {truth[i].TimeS:F3} s is taken for none");
                Assert.True(judged[i].Kind != PulseKind.Mark || Math.Abs(judged[i].Turns - judged[0].Turns - truth[i].Turns) < 0.05 / marks, $"seed {seed}: mark {i} is counted as {judged[i].Turns}");
            }
        }
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(5)]
    public void A_body_that_is_flicked_again_and_again_is_tracked_at_its_speed_and_not_at_a_multiple_of_it(int marks)
    {
        var lost = new List<string>();
        for (int seed = 0; seed < 200; seed++)
        {
            var random = new Random(seed);
            var body = new FlickedBody(random);
            List<double> times = [.. body.MarkTimesS(marks)];
            var tracker = new MarkTracker(new TrackerSettings { TickHz = 2e6, MarksPerTurn = marks });
            var judged = new List<JudgedPulse>();
            Pulse[] pulses = [.. times.Where(_ => random.NextDouble() > 0.005).Select(t => new Pulse((long)Math.Round(2e6 * (t + (1e-5 * ExactSpin.Normal(random)))), 0, -1))];
            foreach (Pulse pulse in pulses)
                tracker.Add(pulse, judged);
            double speed = tracker.SpeedTurnsPerS / body.LastTurnsPerS;
            if (body.PassesAsLamp(marks) || body.SpeedWasDoubled)
                continue;
            if (!tracker.IsLocked || Math.Abs(speed - 1) > 0.01)
                lost.Add($"{seed}: {(tracker.IsLocked ? "" : "no lock, ")}{speed:F2} of the speed");
        }

        Assert.True(lost.Count == 0, string.Join("; ", lost));
    }

    [Theory]
    [InlineData(100)]
    [InlineData(120)]
    [InlineData(60)]
    public void Light_of_a_lamp_on_a_fallen_body_is_no_flick(double flashesPerS)
    {
        var spin = new ExactSpin { LastTurnsPerS = 6.3 };
        var tracker = new MarkTracker(new TrackerSettings { TickHz = spin.TickHz, MarksPerTurn = 1 });
        var judged = new List<JudgedPulse>();
        List<double> marks = [.. spin.Marks().Select(m => m.TimeS)];
        foreach (double timeS in marks)
            tracker.Add(spin.PulseAt(timeS), judged);
        double falls = marks[^1] + (1.02 / spin.LastTurnsPerS); // late, as the last mark of a body that falls is
        for (double timeS = falls; timeS < falls + 3; timeS += 1 / flashesPerS)
            tracker.Add(spin.PulseAt(timeS), judged);
        Assert.False(tracker.IsLocked && tracker.SpeedTurnsPerS > 2 * spin.LastTurnsPerS, $"follows the light at {tracker.SpeedTurnsPerS} turns a second");
    }

    // Two to four flicks of a tenth to a third of a second, half a second to two apart; then five seconds freely.
    private sealed class FlickedBody
    {
        private const double StepS = 1e-4;
        private readonly List<double> _turns = [0];

        public FlickedBody(Random random)
        {
            double speed = 0;
            for (int flick = random.Next(2, 5); flick > 0; flick--)
            {
                double to = speed + 4 + (random.NextDouble() * 16);
                double lastsS = 0.1 + (0.2 * random.NextDouble());
                double from = speed;
                SpeedWasDoubled |= Math.Abs((to / Math.Max(from, 0.1)) - 2) < 0.04;
                for (double t = 0; t < lastsS; t += StepS)
                    Go(speed = from + ((to - from) * (0.5 - (0.5 * Math.Cos(Math.PI * t / lastsS)))));
                double restsS = flick == 1 ? 5 : 0.5 + (1.5 * random.NextDouble());
                for (double t = 0; t < restsS; t += StepS)
                    Go(speed *= 1 - (StepS / 200));
            }

            LastTurnsPerS = speed;
        }

        public double LastTurnsPerS { get; }

        /// <summary>To within some percent: then it looks as if a bright place between the marks had been uncovered.</summary>
        public bool SpeedWasDoubled { get; private set; }

        // Marks that pass within a twentieth of each flash of a mains lamp, or each second or third, are not told from its light until they slow.
        public bool PassesAsLamp(int marks) => new[] { 100.0, 120.0 }.Any(hz => Enumerable.Range(1, 3).Any(n => Math.Abs((hz / (marks * LastTurnsPerS) / n) - 1) < 0.05));

        public IEnumerable<double> MarkTimesS(int marks)
        {
            for (int i = 1; i < _turns.Count; i++)
            {
                double next = Math.Floor(_turns[i - 1] * marks) + 1;
                if (_turns[i] * marks >= next)
                    yield return StepS * (i - 1 + (((next / marks) - _turns[i - 1]) / (_turns[i] - _turns[i - 1])));
            }
        }

        private void Go(double speedTurnsPerS) => _turns.Add(_turns[^1] + (speedTurnsPerS * StepS));
    }
}
