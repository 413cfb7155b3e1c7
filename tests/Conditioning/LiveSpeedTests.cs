using Xunit;

namespace Acquire.Conditioning.Tests;

public sealed class LiveSpeedTests
{
    private sealed class Bench(ExactSpin spin)
    {
        private readonly List<JudgedPulse> _judged = [];

        public MarkTracker Tracker { get; } = new(new TrackerSettings { TickHz = spin.TickHz, MarksPerTurn = spin.MarkOffsets.Length });

        public LiveSpeed Live { get; } = new(spin.TickHz, spin.MarkOffsets.Length);

        public void See(double timeS)
        {
            _judged.Clear();
            Tracker.Add(spin.PulseAt(timeS), _judged);
            foreach (JudgedPulse pulse in _judged)
                Live.See(pulse, Tracker);
        }

        public void SeeUntil(double untilS)
        {
            foreach ((double timeS, _, _) in spin.Marks().TakeWhile(m => m.TimeS < untilS))
                See(timeS);
        }
    }

    private sealed record Shown(double TimeS, double TurnsPerS, double U, double Truth);

    // What is shown twice a second of a spin whose marks are moved by so much.
    private static List<Shown> Play(ExactSpin spin, Func<double, double> offS, double fromS, double untilS)
    {
        var bench = new Bench(spin);
        var shown = new List<Shown>();
        bool free = false;
        double next = fromS;
        foreach ((double timeS, _, _) in spin.Marks().TakeWhile(m => m.TimeS < untilS))
        {
            if (!free && timeS > spin.ReleaseS)
                bench.Live.Restart();
            free = timeS > spin.ReleaseS;
            bench.See(timeS + offS(timeS));
            (double speed, double u, _) = bench.Live.At(bench.Tracker);
            if (timeS < next)
                continue;
            shown.Add(new Shown(timeS, speed, u, spin.SpeedAt(timeS)));
            next += 0.5;
        }

        return shown;
    }

    private static double Within(IEnumerable<Shown> shown) => shown.Average(s => Math.Abs(s.TurnsPerS - s.Truth) <= 1.96 * s.U ? 1 : 0);

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    public void With_even_marks_the_speed_shown_is_right_to_a_part_in_ten_thousand(int marks)
    {
        var spin = new ExactSpin { MarkOffsets = [.. Enumerable.Range(0, marks).Select(i => (double)i / marks)] };
        Assert.All(Play(spin, _ => 0, spin.ReleaseS + 15, 200), s => Assert.Equal(1, s.TurnsPerS / s.Truth, 1e-4));
    }

    [Theory]
    [InlineData(2e-5)]
    [InlineData(3e-4)]
    public void Jitter_is_within_what_is_stated_about_as_often_as_stated(double jitterS)
    {
        var spin = new ExactSpin();
        var all = new List<Shown>();
        for (int seed = 0; seed < 20; seed++)
        {
            var random = new Random(seed);
            all.AddRange(Play(spin, _ => jitterS * ExactSpin.Normal(random), spin.ReleaseS + 20, 240));
        }

        double rms = Math.Sqrt(all.Average(s => (s.TurnsPerS - s.Truth) * (s.TurnsPerS - s.Truth) / (s.U * s.U)));
        Assert.InRange(rms, 0.85, 1.1); // 1, with room for neighbours that share their marks
        Assert.InRange(Within(all), 0.93, 0.98);
    }

    [Fact]
    public void A_body_that_begins_to_wobble_is_shown_with_an_uncertainty_that_grows()
    {
        var spin = new ExactSpin();
        double Wobble(double timeS) => timeS < 100 ? 0 : 0.01 * Math.Sin(2 * Math.PI * 0.7 * timeS) / spin.SpeedAt(timeS);
        List<Shown> shown = Play(spin, Wobble, spin.ReleaseS + 30, 200);
        double quiet = shown.Where(s => s.TimeS < 100).Average(s => s.U);
        List<Shown> wobbling = [.. shown.Where(s => s.TimeS > 140)];
        Assert.True(wobbling.Average(s => s.U) > 10 * quiet, $"{wobbling.Average(s => s.U)} beside {quiet}");
        Assert.InRange(Within(wobbling), 0.90, 1);
    }

    [Fact]
    public void A_hand_that_stops_the_body_is_shown_at_once()
    {
        var spin = new ExactSpin();
        var bench = new Bench(spin);
        const double TouchedS = 60;
        double at = spin.SpeedAt(TouchedS);
        bench.SeeUntil(TouchedS);
        double last = spin.Marks().Last(m => m.TimeS < TouchedS).TimeS;
        // Braked evenly to half in two seconds: turns = v t − v t²/8 from the last mark on.
        for (int turn = 1; turn < 1.4 * at; turn++)
        {
            bench.See(last + (4 * (1 - Math.Sqrt(1 - (turn / (2 * at))))));
            double shown = bench.Live.At(bench.Tracker).TurnsPerS;
            if (turn >= 6)
                Assert.Equal(1, shown / (at * Math.Sqrt(1 - (turn / (2 * at)))), 5e-3);
        }
    }

    [Fact]
    public void Pulses_that_are_no_marks_change_nothing()
    {
        var spin = new ExactSpin();
        var bench = new Bench(spin);
        bench.SeeUntil(60);
        for (int i = 0; i < 20; i++)
            _ = bench.Live.At(bench.Tracker); // what it finds of the scatter goes into what it says next
        (double before, double u, _) = bench.Live.At(bench.Tracker);
        bench.Live.See(new JudgedPulse(spin.PulseAt(60.001).Ticks, 0, PulseKind.Extra, -1, 0), bench.Tracker);
        Assert.Equal(1, bench.Live.At(bench.Tracker).TurnsPerS / before, 1e-9);
        Assert.Equal(1, bench.Live.At(bench.Tracker).UTurnsPerS / u, 1e-3);
    }

    [Fact]
    public void Marks_are_one_to_eight_and_ticks_have_a_rate()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new LiveSpeed(1e6, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => new LiveSpeed(1e6, 9));
        Assert.Throws<ArgumentOutOfRangeException>(() => new LiveSpeed(0, 1));
    }
}
