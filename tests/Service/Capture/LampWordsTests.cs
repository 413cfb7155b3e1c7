using System.Globalization;
using System.Text;
using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using Acquire.Motion;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Capture;

public sealed class LampWordsTests
{
    // Flashes of a lamp at 100.1 Hz, as a board's tick counts at 1 MHz.
    [Fact]
    public void Lamp_light_is_named_with_its_frequency_while_nothing_spins_and_no_longer_once_it_is_out()
    {
        const double LampHz = 100.1;
        var chain = new LiveChain(SourceFormats.CreateDecoder(PlainLineDecoder.TicksFormat, 1e6), RunSettings.From(new CaptureOptions()));
        var found = new List<RunTransition>();
        chain.Take(new SourceBlock(SourceBlockKind.LinkBack, 1, []), found);
        Assert.Equal(double.NaN, chain.Look(1).LampHz);
        long hostNs = 1;
        for (int flash = 1; flash <= 600; flash++)
        {
            string line = ((long)Math.Round(flash / LampHz * 1e6)).ToString(CultureInfo.InvariantCulture) + "\n";
            hostNs = 1 + (long)(flash / LampHz * 1e9);
            chain.Take(new SourceBlock(SourceBlockKind.Bytes, hostNs, Encoding.ASCII.GetBytes(line)), found);
            chain.PassTime(hostNs, found);
        }

        Assert.Empty(found);
        Assert.Equal(RunPhase.Waiting, chain.Phase);
        Assert.Equal(LampHz, chain.Look(hostNs).LampHz, 0.02);
        Assert.Equal(double.NaN, chain.Look(hostNs + 2_000_000_000).LampHz);
    }
}
