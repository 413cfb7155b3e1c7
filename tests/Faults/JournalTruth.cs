using System.Buffers.Binary;
using System.Text;
using System.Text.Json;

namespace Acquire.Faults;

/// <summary>A run that a journal shows.</summary>
/// <param name="Number">Its number in the journal.</param>
/// <param name="FirstPulse">Ordinal of its first pulse among the journal's.</param>
/// <param name="Counters">What the board counted at each of its pulses.</param>
internal sealed record TrueRun(int Number, long FirstPulse, IReadOnlyList<uint> Counters);

/// <summary>What a journal holds, read by its document (journal-format.md) alone: only whole records from the start, without their checks, since it
/// is used on files that nothing has damaged.</summary>
internal sealed class JournalTruth
{
    /// <summary>All pulses' counters.</summary>
    public List<uint> Counters { get; } = [];

    /// <summary>Runs that began and were not dismissed, with the pulses up to their end or the journal's.</summary>
    public List<TrueRun> Runs { get; } = [];

    /// <summary>How often a capture that was cut short went on in it.</summary>
    public int Resumed { get; private set; }

    /// <summary>Where each record begins, and last where the last ends, bytes.</summary>
    public List<long> Begins { get; } = [];

    public static JournalTruth Read(ReadOnlySpan<byte> file)
    {
        var truth = new JournalTruth();
        var bytes = new List<byte>();
        var began = new Dictionary<int, long>();
        var ended = new Dictionary<int, long>();
        int at = 16;
        while (at + 17 <= file.Length && BinaryPrimitives.ReadInt32LittleEndian(file[at..]) is var length && at + 17 + length <= file.Length)
        {
            truth.Begins.Add(at);
            ReadOnlySpan<byte> payload = file.Slice(at + 13, length);
            switch (file[at + 4])
            {
                case 1:
                    bytes.AddRange(payload);
                    break;
                case 3 or 4:
                    bytes.Add((byte)'\n'); // the line begun will never end
                    break;
                case 17:
                    began[Number(payload, "runNumber")] = Number(payload, "firstPulse");
                    break;
                case 18:
                    ended[Number(payload, "runNumber")] = Number(payload, "lastPulse");
                    break;
                case 25:
                    truth.Resumed++;
                    bytes.Add((byte)'\n');
                    break;
                case 24:
                    began.Remove(Number(payload, "runNumber"));
                    break;
            }

            at += 17 + length;
        }

        truth.Begins.Add(at);
        truth.Counters.AddRange(PulseText.Pulses(bytes));
        foreach ((int number, long first) in began)
        {
            long last = Math.Min(truth.Counters.Count - 1, ended.GetValueOrDefault(number, long.MaxValue));
            truth.Runs.Add(new TrueRun(number, first, [.. truth.Counters.Skip((int)first).Take((int)(last - first + 1))]));
        }

        return truth;
    }

    private static int Number(ReadOnlySpan<byte> json, string name)
    {
        using JsonDocument document = JsonDocument.Parse(Encoding.UTF8.GetString(json));
        return document.RootElement.GetProperty(name).GetInt32();
    }
}
