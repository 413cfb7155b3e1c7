using System.Globalization;
using System.Text;
using Acquire.Acquisition.Simulation;
using Xunit;

namespace Acquire.Acquisition.Tests.Simulation;

/// <summary>The bytes of the simulated board, read by a reader of the test's own.</summary>
public sealed class SimulatedBoardTests
{
    // CRC-16/XMODEM bit by bit; check value of "123456789" is 31C3.
    [Fact]
    public void The_tests_own_check_is_right() => Assert.Equal(0x31C3, Crc("123456789"));

    [Fact]
    public void Every_line_passes_its_check_and_every_pulse_is_there_in_order()
    {
        SimulatedSpin spin = Play(new BoardSettings { RatePpm = 1200, CounterStart = 0 });
        Line[] lines = [.. Lines(spin)];
        BoardPulse[] wanted = [.. spin.BoardPulses()];
        string[][] pulses = [.. lines.Where(line => line.Body[0] == 'P').Select(line => line.Body.Split(','))];

        Assert.All(lines, line => Assert.True(line.IsRight, line.Body));
        Assert.Equal($"H,1,2000000,32,{lines[0].Body.Split(',')[4]},simulated", lines[0].Body);
        Assert.Equal(wanted.Length, pulses.Length);
        for (int i = 0; i < wanted.Length; i++)
        {
            Assert.Equal($"P{i % 256:X2}", pulses[i][0]);
            Assert.Equal(wanted[i].Pulse.Ticks, Hex(pulses[i][1]));
            Assert.Equal(wanted[i].Pulse.WidthTicks, Hex(pulses[i][2]));
            Assert.Equal(i % 256, wanted[i].Pulse.Sequence);
        }
    }

    [Fact]
    public void Status_comes_each_second_with_the_pulses_so_far()
    {
        SimulatedSpin spin = Play(new BoardSettings());
        int pulses = 0;
        int statuses = 0;
        foreach (Line line in Lines(spin))
        {
            if (line.Body[0] == 'P')
                pulses++;
            if (line.Body[0] != 'S')
                continue;
            string[] fields = line.Body.Split(',');
            statuses++;
            Assert.InRange(Hex(fields[2]) - pulses, 0, 1); // one may be on its way
            Assert.Equal("0000", fields[3]);
            Assert.InRange(line.TimeS - statuses, 0, 0.01);
            Assert.Equal(spin.Clock.Ticks(line.TimeS - (line.Length * 10 / 115200.0)), Hex(fields[1]), 1.0);
        }

        Assert.Equal((int)spin.Motion.DurationS, statuses);
    }

    [Fact]
    public void Lines_leave_no_faster_than_the_line_carries_them()
    {
        double freeS = 0;
        foreach (Line line in Lines(Play(Fast, marks: 8)))
        {
            double tookS = line.Length * 10 / 9600.0;
            Assert.True(line.TimeS - tookS >= freeS - 1e-9);
            freeS = line.TimeS;
        }
    }

    [Fact]
    public void What_finds_no_room_is_counted_and_has_no_number()
    {
        SimulatedSpin spin = Play(Fast, marks: 8);
        Line[] lines = [.. Lines(spin)];
        string[] last = lines.Last(line => line.Body[0] == 'S').Body.Split(',');
        string[] pulses = [.. lines.Where(line => line.Body[0] == 'P').Select(line => line.Body[1..3])];

        Assert.True(Hex(last[3]) > 100);
        Assert.Equal(spin.Pulses().Count(), Hex(last[2]));
        Assert.Equal(Hex(last[2]) - Hex(last[3]), pulses.Length);
        for (int i = 0; i < pulses.Length; i++)
            Assert.Equal($"{i % 256:X2}", pulses[i]);
    }

    [Fact]
    public void The_counter_wraps_and_starts_where_it_is_told()
    {
        SimulatedSpin spin = Play(new BoardSettings { CounterStart = uint.MaxValue - 20_000_000L });
        long[] ticks = [.. Lines(spin).Where(line => line.Body[0] == 'S').Select(line => Hex(line.Body.Split(',')[1]))];

        Assert.InRange(ticks[0], uint.MaxValue - 20_000_000L + 1_999_000, uint.MaxValue - 20_000_000L + 2_001_000);
        Assert.Single(ticks.Zip(ticks.Skip(1)), pair => pair.Second < pair.First);
    }

    [Fact]
    public void A_restart_begins_a_new_boot_at_0()
    {
        SimulatedSpin spin = Play(new BoardSettings { RestartsS = [60, 100], CounterStart = 5_000_000 });
        Line[] hellos = [.. Lines(spin).Where(line => line.Body.StartsWith('H') && line.IsRight)];
        Line[] after = [.. Lines(spin).Where(line => line.TimeS > 60.3 && line.IsRight && line.Body[0] == 'P')];

        Assert.Equal(3, hellos.Select(line => line.Body).Distinct().Count());
        Assert.StartsWith("P00,", after[0].Body, StringComparison.Ordinal);
        Assert.InRange(Hex(after[0].Body.Split(',')[1]), 0, 200_000);
        Assert.DoesNotContain(Lines(spin), line => line.TimeS is > 60.001 and < 60.3);
    }

    [Fact]
    public void It_answers_who_it_is_and_what_time_it_is()
    {
        SimulatedSpin spin = Play(new BoardSettings { RatePpm = -700 });
        using var board = new SimulatedBoard(spin);
        var got = new List<string>();
        Drain(board, 2.5, got);
        got.Clear();
        board.Receive(2.5, "T7"u8);
        board.Receive(2.6, "F\r\n?\nTxx\n"u8);
        Drain(board, 2.7, got);

        Assert.Equal(2, got.Count);
        Assert.Equal($"T7F,{spin.Clock.Ticks(2.6):X8}", got[0].Split('*')[0]);
        Assert.StartsWith("H,1,2000000,32,", got[1], StringComparison.Ordinal);
    }

    [Fact]
    public void Bytes_spoilt_and_lines_lost_come_as_often_as_told()
    {
        double sent = 0, arrived = 0, wrong = 0, bytes = 0;
        for (int seed = 1; seed <= 20; seed++)
        {
            Line[] whole = [.. Lines(Play(new BoardSettings(), seed: seed))];
            Line[] lines = [.. Lines(Play(new BoardSettings { ByteErrorProbability = 0.001, LineLossProbability = 0.02 }, seed: seed))];
            sent += whole.Length;
            bytes += whole.Sum(line => line.Length);
            arrived += lines.Length;
            wrong += lines.Count(line => !line.IsRight);
        }

        Assert.InRange(arrived / sent, 0.977, 0.983);
        Assert.InRange(wrong / arrived / (1 - Math.Pow(0.999, bytes / sent)), 0.9, 1.1);
    }

    [Fact]
    public void The_same_scenario_sends_the_same_bytes()
    {
        var board = new BoardSettings { ByteErrorProbability = 0.001 };

        Assert.Equal(Lines(Play(board)).Select(line => line.Body), Lines(Play(board)).Select(line => line.Body));
    }

    private static BoardSettings Fast => new() { Baud = 9600, QueuePulses = 16 };

    private static SimulatedSpin Play(BoardSettings board, int marks = 1, int seed = 5) => new(new SpinScenario
    {
        Seed = seed,
        RestAfterS = 5,
        Spins = [new SpinPlan().Lasting(150)],
        Sensor = new SensorSettings { MarkOffsetsTurns = SensorSettings.Evenly(marks), JitterS = 2e-6, MissProbability = 0.01 },
        Board = board,
    });

    private static void Drain(SimulatedBoard board, double untilS, List<string> into)
    {
        while (board.TryNext(untilS, out _, out ReadOnlyMemory<byte> bytes))
            into.Add(Encoding.ASCII.GetString(bytes.Span));
    }

    private static IEnumerable<Line> Lines(SimulatedSpin spin) => spin.Sent().Select(sent =>
    {
        string text = Encoding.Latin1.GetString(sent.Bytes.Span);
        string body = text.Split('*')[0];
        return new Line(sent.TimeS, body, sent.Bytes.Length, text == $"{body}*{Crc(body):X4}\n");
    });

    private static int Crc(string text)
    {
        int crc = 0;
        foreach (char character in text)
        {
            crc ^= character << 8;
            for (int bit = 0; bit < 8; bit++)
                crc = (crc & 0x8000) != 0 ? ((crc << 1) ^ 0x1021) & 0xFFFF : crc << 1;
        }

        return crc;
    }

    private static long Hex(string text) => long.Parse(text, NumberStyles.HexNumber);

    private sealed record Line(double TimeS, string Body, int Length, bool IsRight);
}
