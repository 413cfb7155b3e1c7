using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Capture;

public sealed class CaptureJournalsTests : IDisposable
{
    private readonly string _library = Directory.CreateTempSubdirectory("acquire-journals-").FullName;

    public void Dispose() => Directory.Delete(_library, recursive: true);

    [Fact]
    public void A_board_that_is_never_silent_does_not_keep_a_journal_from_being_let_go()
    {
        var options = new CaptureOptions { Port = "simulated", Library = _library };
        using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(new SimulatedSpin(new SpinScenario { Spins = [new SpinPlan()] }));
        using var journals = new CaptureJournals(options, source, TimeProvider.System, SourceFormats.CreateDecoder(options.Format, options.TickHz));
        JournalWriter first = journals.Current.Writer;
        bool changed = false;
        Assert.True(SpinWait.SpinUntil(
            () =>
            {
                journals.Current.Writer.TryAppend(new SourceBlock(SourceBlockKind.Bytes, TimeProvider.System.MonotonicNs(), "# alive\n"u8.ToArray()));
                return changed || (changed = journals.TryChange(0));
            }, 10_000));
        Assert.NotSame(first, journals.Current.Writer);
    }
}
