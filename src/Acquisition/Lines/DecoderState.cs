using System.Text.Json;
using System.Text.Json.Serialization;

namespace Acquire.Acquisition.Lines;

/// <summary>All that a decoder needs to go on where another stopped, as it stands in a journal.</summary>
internal sealed record DecoderState
{
    /// <summary>The format's name.</summary>
    public required string Format { get; init; }

    /// <summary>Configured ticks a second.</summary>
    public required double TickHz { get; init; }

    /// <summary>Base64 of the line begun.</summary>
    public string Part { get; init; } = "";

    /// <summary>The rest of a line that was too long is passed over.</summary>
    public bool Skipping { get; init; }

    /// <summary>What only pulse lines have; null for others.</summary>
    public PulseLineState? PulseLines { get; init; }

    /// <summary>What only plain lines have; null for others.</summary>
    public PlainLineState? PlainLines { get; init; }

    /// <summary>What only a GPIO line has; null for others.</summary>
    public GpioState? Gpio { get; init; }

    internal string ToJson() => JsonSerializer.Serialize(this, DecoderStateContext.Default.DecoderState);

    /// <summary>Reads a state.</summary>
    /// <exception cref="InvalidDataException">The text is no decoder's state.</exception>
    internal static DecoderState FromJson(string json)
    {
        try
        {
            return JsonSerializer.Deserialize(json, DecoderStateContext.Default.DecoderState)
                ?? throw new InvalidDataException("A decoder's state was expected, null was found.");
        }
        catch (JsonException problem)
        {
            throw new InvalidDataException(
                $"A decoder's state was expected, line {problem.LineNumber}, byte {problem.BytePositionInLine} is none: {problem.Message}", problem);
        }
    }
}

/// <summary>The state of a decoder of pulse lines.</summary>
internal sealed record PulseLineState
{
    public BoardIdentity? Board { get; init; }

    public bool Settled { get; init; }

    public bool NameIsStale { get; init; }

    public bool RestartInferred { get; init; }

    public long WantedNameNs { get; init; }

    public JoinedCounter.CounterState Counter { get; init; }

    public int NextSequence { get; init; }

    public long LatestPulseTicks { get; init; }

    public StatusCheck.StatusTotals Status { get; init; }

    public IReadOnlyList<HeldLine> Held { get; init; } = [];

    public IReadOnlyDictionary<string, long> AskedNs { get; init; } = new Dictionary<string, long>();
}

/// <summary>A line that waits for the board to say what its numbers mean.</summary>
internal readonly record struct HeldLine(BoardLine Line, long HostNs, long AskedNs);

/// <summary>The state of a decoder of plain lines.</summary>
internal sealed record PlainLineState
{
    public bool Any { get; init; }

    public bool Joins { get; init; }

    public long LastRaw { get; init; }

    public long Ticks { get; init; }

    public long HostNs { get; init; }

    public double RevPerS { get; init; }

    public double Turns { get; init; }
}

/// <summary>The state of a decoder of a GPIO line.</summary>
internal sealed record GpioState
{
    public uint? Next { get; init; }

    public uint LatestKind { get; init; }

    public long LatestNs { get; init; }

    public long? BegunNs { get; init; }

    public long BegunHostNs { get; init; }
}

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
[JsonSerializable(typeof(DecoderState))]
internal sealed partial class DecoderStateContext : JsonSerializerContext;
