using System.Text;
using Acquire.Acquisition;
using Acquire.Acquisition.Lines;
using BenchmarkDotNet.Attributes;
using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Toolchains.InProcess.Emit;

namespace Acquire.Benchmarks;

/// <summary>Bytes of lines to pulses in memory: the decoder, beside a reader written plainly. All figures are for one pulse.</summary>
[Config(typeof(Settings))]
[MemoryDiagnoser]
public class LinesToPulses
{
    private const int Pulses = 200_000;
    private const int ReadBytes = 4095; // what one read of a terminal gives at most
    private readonly List<SourceEvent> _events = [];
    private byte[] _bytes = [];

    [GlobalSetup]
    public void MakeBytes()
    {
        _bytes = new SpinBytes(Pulses).Bytes;
        long sum = Plain();
        if (Decoder() != sum)
            throw new InvalidOperationException("The two readers do not read the same.");
    }

    [Benchmark(Baseline = true, OperationsPerInvoke = Pulses, Description = "ReadLine, Split, Parse")]
    public long Plain()
    {
        using var reader = new StreamReader(new MemoryStream(_bytes), Encoding.ASCII);
        var lines = new PlainLines();
        long sum = 0;
        int pulses = 0;
        while (reader.ReadLine() is { } line)
        {
            if (!lines.TryParse(line, out Pulse pulse))
                continue;
            sum += pulse.Ticks + pulse.WidthTicks + pulse.Sequence;
            pulses++;
        }

        return Judged(pulses, lines.Bad, sum);
    }

    [Benchmark(OperationsPerInvoke = Pulses, Description = "PulseLineDecoder")]
    public long Decoder()
    {
        var decoder = new PulseLineDecoder(SpinBytes.TickHz);
        long sum = 0;
        for (int at = 0; at < _bytes.Length; at += ReadBytes)
        {
            _events.Clear();
            ReadOnlySpan<byte> read = _bytes.AsSpan(at, Math.Min(ReadBytes, _bytes.Length - at));
            decoder.Decode(new SourceBlock(SourceBlockKind.Bytes, 1, read), _events);
            foreach (SourceEvent e in _events)
            {
                if (e.Kind == SourceEventKind.Pulse)
                    sum += e.Pulse.Ticks + e.Pulse.WidthTicks + e.Pulse.Sequence;
            }
        }

        return Judged((int)decoder.Counts.Received, (int)(decoder.Counts.BadLines + decoder.Counts.LostOnLine), sum);
    }

    private static long Judged(int pulses, int bad, long sum) => pulses == Pulses && bad == 0
        ? sum
        : throw new InvalidOperationException($"{pulses} pulses of {Pulses} read, {bad} lines bad or lost.");

    private sealed class Settings : ManualConfig
    {
        public Settings() => AddJob(
            Job.Default.WithToolchain(InProcessEmitToolchain.Instance).WithWarmupCount(3).WithIterationCount(10));
    }
}
