using System.Text;
using Acquire.Acquisition;
using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>A journal of a short invented spin, ended in order.</summary>
internal static class SampleJournal
{
    public const string Top = "invented spinner";
    private const long StartNs = 5_000_000_000;
    private const double SpinS = 12;
    private const int PulsesBeforeRun = 60;

    /// <summary>Writes it with the program's own writer and gives its bytes.</summary>
    public static byte[] Make()
    {
        using var scratch = new Scratch();
        string path = scratch.At("sample.journal");
        var start = new JournalStart(
            "acquire 0.1.0",
            new UtcAnchor(new DateTimeOffset(2027, 3, 14, 9, 26, 53, TimeSpan.Zero), StartNs),
            new JournalSource("serial", "invented port", "pulse-lines", 2_000_000, 1),
            new RunSetup { Top = Top },
            new Dictionary<string, string>());
        using (JournalWriter writer = JournalWriter.Create(path, start, TimeProvider.System))
        {
            Write(writer);
            if (!writer.Flush(TimeSpan.FromSeconds(30)))
                throw new IOException("The sample could not be written.");
        }

        return File.ReadAllBytes(path);
    }

    private static void Write(JournalWriter writer)
    {
        Block(writer, StartNs, PulseText.Line(PulseText.Hello));
        var spin = new SpinText(1, 45, 60);
        var text = new StringBuilder();
        int pulses = 0;
        for (double s = 0; s < SpinS; s = spin.After(s))
        {
            text.Append(PulseText.Pulse(pulses, (long)(s * 2e6) + 1000, 2000));
            pulses++;
            if (pulses % 5 != 0)
                continue;
            Block(writer, Ns(s), text.ToString());
            text.Clear();
            if (pulses == PulsesBeforeRun)
                writer.TryAppend(Ns(s), new RunBegan(1, 3));
        }

        Block(writer, Ns(SpinS), text.ToString());
        writer.TryAppend(Ns(SpinS + 30), new RunEnded(1, EndReasons.Stopped, pulses - 1));
        writer.TryAppend(Ns(SpinS + 31), new CaptureEnded("ended"));
    }

    private static long Ns(double s) => StartNs + (long)(s * 1e9);

    private static void Block(JournalWriter writer, long ns, string text) =>
        writer.TryAppend(new SourceBlock(SourceBlockKind.Bytes, ns, Encoding.ASCII.GetBytes(text)));
}
