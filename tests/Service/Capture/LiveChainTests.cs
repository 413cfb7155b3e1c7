using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Capture;

public sealed class LiveChainTests
{
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void The_speed_at_release_is_told_to_half_a_percent_some_turns_after_it(int seed)
    {
        SpinPlan plan = new() { RestBeforeS = 1, Pushes = [new Push(1850, 0.5)] };
        var spin = new SimulatedSpin(new SpinScenario { Seed = seed, Spins = [plan], RestAfterS = 1 });
        using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(spin);
        var options = new CaptureOptions { Port = "simulated" };
        var chain = new LiveChain(SourceFormats.CreateDecoder(options.Format, options.TickHz), RunSettings.From(options));
        var found = new List<RunTransition>();
        long untilNs = SimulatedPulseSource.SyntheticStartNs + (long)((spin.Spins[0].ReleaseS + 3) * 1e9);
        source.Start();
        while (source.Blocks.Wait(1000) && source.Blocks.TryRead(out SourceBlock block) && block.HostNs < untilNs)
            chain.Take(block, found);

        LiveState live = chain.Look(untilNs);

        Assert.Equal(RunPhase.Spinning, live.Phase);
        Assert.Equal(spin.Spins[0].PeakRpm, live.PeakRpm, 0.005 * spin.Spins[0].PeakRpm);
    }
}
