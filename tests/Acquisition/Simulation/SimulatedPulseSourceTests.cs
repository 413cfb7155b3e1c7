using System.Text;
using Acquire.Acquisition.Simulation;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace Acquire.Acquisition.Tests.Simulation;

public sealed class SimulatedPulseSourceTests
{
    private static readonly SpinScenario Short = new() { RestAfterS = 3, Spins = [new SpinPlan().Lasting(60)] };

    [Fact]
    public void In_made_up_time_nothing_is_lost_however_small_the_ring()
    {
        var spin = new SimulatedSpin(Short);
        List<Block> blocks = ReadAll(SimulatedPulseSource.Synthetic(spin, capacityBytes: 1024));
        byte[] sent = [.. spin.Sent().SelectMany(part => part.Bytes.ToArray())];

        Assert.Equal(SourceBlockKind.LinkBack, blocks[0].Kind);
        Assert.Equal(sent, blocks.Where(block => block.Kind == SourceBlockKind.Bytes).SelectMany(block => block.Payload));
        Assert.Equal(blocks.Select(block => block.HostNs).Order(), blocks.Select(block => block.HostNs));
    }

    [Fact]
    public void In_made_up_time_the_same_scenario_gives_the_same_blocks()
    {
        var delays = new HostDelays { AskEveryS = 5, StallProbability = 0.01 };
        List<Block> first = ReadAll(SimulatedPulseSource.Synthetic(new SimulatedSpin(Short), delays));
        List<Block> second = ReadAll(SimulatedPulseSource.Synthetic(new SimulatedSpin(Short), delays));

        Assert.Equal(first.Select(Text), second.Select(Text));
    }

    [Fact]
    public void A_line_arrives_after_it_left_and_within_the_delays()
    {
        var delays = new HostDelays { ToHostBaseS = 0.002, ToHostMeanS = 0.004, LimitS = 0.016 };
        var spin = new SimulatedSpin(Short);
        List<Block> blocks = ReadAll(SimulatedPulseSource.Synthetic(spin, delays));
        double[] sent = [.. spin.Sent().Select(part => part.TimeS)];
        double[] delay = [.. blocks.Skip(1).Zip(sent, (block, left) => ((block.HostNs - SimulatedPulseSource.SyntheticStartNs) * 1e-9) - left)];

        Assert.Equal(sent.Length, blocks.Count - 1);
        Assert.All(delay, each => Assert.InRange(each, 0.002 - 1e-8, 0.018 + 1e-8));
        Assert.InRange(delay.Average(), 0.0055, 0.0065);
    }

    [Fact]
    public void In_made_up_time_it_asks_itself_and_answers_follow()
    {
        List<Block> blocks = ReadAll(SimulatedPulseSource.Synthetic(new SimulatedSpin(Short), new HostDelays { AskEveryS = 5 }));
        Block[] asked = [.. blocks.Where(block => block.Kind == SourceBlockKind.Asked)];
        Block[] answers = [.. blocks.Where(block => block.Kind == SourceBlockKind.Bytes && Text(block).Contains(" T", StringComparison.Ordinal))];

        Assert.InRange(asked.Length, 12, 14);
        Assert.Equal(asked.Length, answers.Length);
        Assert.All(asked.Zip(answers), pair => Assert.InRange(pair.Second.HostNs - pair.First.HostNs, 1, 60_000_000));
    }

    [Fact]
    public void Reads_at_intervals_join_lines()
    {
        List<Block> blocks = ReadAll(SimulatedPulseSource.Synthetic(new SimulatedSpin(Short), new HostDelays { ReadEveryS = 0.25 }));

        Assert.All(blocks.Skip(1), block => Assert.Equal(0, block.HostNs % 250_000_000));
        Assert.Contains(blocks, block => block.Payload.Count(each => each == (byte)'\n') > 3);
    }

    [Fact]
    public async Task Against_a_clock_it_keeps_time_and_can_be_asked()
    {
        var time = new FakeTimeProvider(new DateTimeOffset(1, 1, 2, 0, 0, 0, TimeSpan.Zero));
        var spin = new SimulatedSpin(Short);
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time, speed: 10);
        source.Start();
        var blocks = new List<Block>();
        bool asked = false;
        for (int i = 0; i < 20_000 && !source.Blocks.IsFinished; i++)
        {
            if (!asked && blocks.Count > 100)
            {
                source.Ask("T5A\n"u8);
                asked = true;
            }

            time.Advance(TimeSpan.FromMilliseconds(5));
            await Task.Yield();
            source.Blocks.Wait(1);
            Take(source, blocks);
        }

        string all = string.Concat(blocks.Select(Text));
        Assert.True(source.Blocks.IsFinished);
        Assert.Contains(" T5A,", all, StringComparison.Ordinal);
        Assert.Equal(spin.Pulses().Count(), all.Split(" P").Length - 1);
        Assert.Single(blocks, block => block.Kind == SourceBlockKind.Asked);
    }

    [Fact]
    public void It_can_be_ended_while_nobody_reads()
    {
        SimulatedPulseSource source = SimulatedPulseSource.Synthetic(new SimulatedSpin(Short), capacityBytes: 1024);
        source.Start();
        source.Blocks.Wait(5000);
        source.Dispose();

        while (source.Blocks.TryRead(out _))
        {
            // what was written before it was ended
        }

        Assert.True(source.Blocks.IsFinished);
    }

    private static List<Block> ReadAll(SimulatedPulseSource source)
    {
        var blocks = new List<Block>();
        using (source)
        {
            source.Start();
            while (!source.Blocks.IsFinished)
            {
                source.Blocks.Wait(1000);
                Take(source, blocks);
            }
        }

        return blocks;
    }

    private static void Take(SimulatedPulseSource source, List<Block> into)
    {
        while (source.Blocks.TryRead(out SourceBlock block))
            into.Add(new Block(block.Kind, block.HostNs, block.Payload.ToArray()));
    }

    private static string Text(Block block) => $"{block.Kind} {block.HostNs} {Encoding.Latin1.GetString(block.Payload)}";

    private sealed record Block(SourceBlockKind Kind, long HostNs, byte[] Payload);
}
