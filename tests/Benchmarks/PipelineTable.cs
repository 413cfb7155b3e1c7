using System.Globalization;

namespace Acquire.Benchmarks;

/// <summary>Bytes on a pseudo-terminal to journal and live speed, beside what else could be done with the same bytes.</summary>
internal static class PipelineTable
{
    private const int PulsesBySerialPort = 300_000; // it is slow

    internal static int Run(MeasureOptions options)
    {
        var spin = new SpinBytes(options.Pulses);
        var shorter = new SpinBytes(Math.Min(options.Pulses, PulsesBySerialPort));
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{spin.Pulses} pulses, {spin.Bytes.Length} bytes, {spin.SpanS:F0} s of an invented spin; {Environment.ProcessorCount} cores for this process"));
        (string What, Func<Measured> Measure)[] ways =
        [
            ("read(2) only", () => TerminalReaders.ReadOnly(spin, options)),
            ("terminal to journal and live speed", () => CaptureRun.FromTerminal(spin, options)),
            ("the same, sent at 1,000,000 a second", () => CaptureRun.AtRate(spin, options, 1e6)),
            ("the same from memory", () => CaptureRun.FromMemory(spin, options)),
            ("SerialPort.ReadLine, Split, Parse; no journal", () => TerminalReaders.SerialPortLines(shorter, options)),
        ];
        var all = new List<Measured>[ways.Length];
        for (int repeat = -1; repeat < options.Repeats; repeat++)
        {
            // Each way once in turn, so that what else the machine does meets them all; the first round only warms up.
            for (int way = 0; way < ways.Length; way++)
            {
                if (repeat < 0)
                    all[way] = [];
                Measured measured = ways[way].Measure();
                if (repeat >= 0)
                    all[way].Add(measured);
                GC.Collect();
            }
        }

        Print(ways.Select(way => way.What).ToArray(), all);
        return all.Any(repeats => repeats.Any(measured => measured.Lost != 0)) ? 1 : 0;
    }

    private static void Print(string[] what, List<Measured>[] all)
    {
        Console.WriteLine("Medians by rate of " + all[0].Count + "; processor seconds for a million pulses by thread.");
        Console.WriteLine($"{"",-46} {"Mpulses/s",9} {"least",6} {"most",6} {"MB/s",6} {"board",6} {"reader",6} {"capture",7} {"journal",7} {"other",6} {"lost",5}");
        for (int way = 0; way < what.Length; way++)
        {
            Measured m = Measured.Median(all[way]);
            double millions = m.Pulses * 1e-6;
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{what[way],-46} {m.PulsesPerS * 1e-6,9:F3} {all[way].Min(r => r.PulsesPerS) * 1e-6,6:F3} {all[way].Max(r => r.PulsesPerS) * 1e-6,6:F3} {m.Bytes / m.ElapsedS * 1e-6,6:F1} {m.BoardS / millions,6:F3} {m.ReaderS / millions,6:F3} {m.CaptureS / millions,7:F3} {m.JournalS / millions,7:F3} {m.OtherS / millions,6:F3} {all[way].Sum(r => r.Lost),5}"));
        }

        foreach ((string way, Measured m) in what.Zip(all.Select(Measured.Median)).Where(pair => double.IsFinite(pair.Second.PackageS)))
        {
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{way}: live speed at the end off by {m.SpeedError * 1e6:F1} ppm; journal complete {m.JournalLagS * 1e3:F0} ms after the last pulse was judged; package {m.PackageS:F2} s after the stop"));
        }
    }
}
