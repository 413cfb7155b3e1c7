using Acquire.Acquisition;
using Acquire.Acquisition.Tests;
using Acquire.Acquisition.Tests.Recorded;
using Acquire.Conditioning;
using Acquire.Motion;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Recorded;

/// <summary>What the recorded lines of tests/Acquisition/Recorded are judged to be. The truth is in the lines: all pulses are marks of a wheel
/// with one mark, and the board's sequence numbers tell how many passed while nobody listened.</summary>
public sealed class RecordedRunTests
{
    [Theory]
    [InlineData("firmware-cold-start", 0)]
    [InlineData("firmware-spin", 0)]
    [InlineData("firmware-unplug", 57)]
    [InlineData("firmware-wrap", 0)]
    [InlineData("garbage", 0)]
    [InlineData("spliced", 4)]
    public void Every_pulse_is_a_mark_and_the_missed_ones_are_those_that_the_sequence_numbers_lack(string name, long missed)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        Pulse[] pulses = [.. recorded.Events.Where(said => said.Kind == SourceEventKind.Pulse).Select(said => said.Pulse)];
        Assert.Equal(missed, pulses.Zip(pulses.Skip(1), (a, b) => (long)((b.Sequence - a.Sequence - 1) & 0xFF)).Sum());
        JudgedRun judged = RunJudge.Judge(pulses, RunSettings.From(new CaptureOptions()).Tracker(recorded.TickHz));
        Assert.Equal((pulses.Length, missed), (judged.Marks, judged.Missed));
        Assert.Equal(pulses.Length - 1 + missed, judged.Pulses[^1].Turns);
    }

    [Theory]
    [InlineData("firmware-cold-start")]
    [InlineData("firmware-spin")]
    [InlineData("firmware-unplug")]
    [InlineData("firmware-wrap")]
    public void The_live_chain_makes_one_run_of_it(string name)
    {
        RecordedCase recorded = RecordedCase.Read(name);
        var chain = new LiveChain(recorded.Decoder(), RunSettings.From(new CaptureOptions()));
        var found = new List<RunTransition>();
        foreach (ReadBlock read in recorded.Reads)
        {
            chain.Take(new SourceBlock(read.Kind, read.HostNs, read.Payload), found);
            chain.PassTime(read.HostNs, found);
        }

        chain.EndByHand(found);
        Assert.Equal((RunTransitionKind.Began, 0L), (found[0].Kind, found[0].FirstPulse));
        Assert.Equal((RunTransitionKind.Ended, RunEnd.Operator, recorded.Counts.Received - 1), (found[^1].Kind, found[^1].End, found[^1].LastPulse));
        Assert.Single(found, t => t.Kind == RunTransitionKind.Ended);
        Assert.Equal(recorded.Counts, chain.Decoder.Counts);
    }

    [Fact]
    public void Half_a_second_of_marks_before_the_plug_went_is_no_run()
    {
        RecordedCase recorded = RecordedCase.Read("torn-tail");
        var chain = new LiveChain(recorded.Decoder(), RunSettings.From(new CaptureOptions()));
        var found = new List<RunTransition>();
        foreach (ReadBlock read in recorded.Reads)
            chain.Take(new SourceBlock(read.Kind, read.HostNs, read.Payload), found);
        chain.EndByHand(found);
        Assert.DoesNotContain(found, t => t.Kind == RunTransitionKind.Ended);
    }
}
