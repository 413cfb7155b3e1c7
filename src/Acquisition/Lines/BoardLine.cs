using System.Runtime.CompilerServices;

namespace Acquire.Acquisition.Lines;

/// <summary>What a line of the pulse line protocol is.</summary>
internal enum BoardLineKind : byte
{
    Bad,
    Hello,
    Pulse,
    Status,
    Time,
}

/// <summary>A line of the pulse line protocol, version 1, but for the greeting, as it stands there: nothing unwrapped.</summary>
/// <param name="Kind">What the line is.</param>
/// <param name="Tag">Sequence number of a pulse, the number asked with of a time, 0 to 255.</param>
/// <param name="Tick">The board's counter.</param>
/// <param name="Number">Width of a pulse in ticks, pulses seen of a status.</param>
/// <param name="Dropped">Pulses dropped of a status.</param>
internal readonly record struct BoardLine(BoardLineKind Kind, byte Tag, uint Tick, uint Number, ushort Dropped)
{
    private const int CheckLength = 5; // the star and four digits

    /// <summary>Reads a line whose check holds; everything else is <see cref="BoardLineKind.Bad"/>.</summary>
    /// <param name="line">The line without its end.</param>
    /// <param name="body">The line without its check.</param>
    internal static BoardLine Parse(ReadOnlySpan<byte> line, out ReadOnlySpan<byte> body)
    {
        body = default;
        int length = line.Length - CheckLength;
        if (length < 1 || line[length] != '*' || !Hex.TryUpper(line[(length + 1)..], out uint check))
            return default;
        body = line[..length];
        if (Crc16.Of(body) != check)
            return default;
        return body[0] switch
        {
            (byte)'P' => ParsePulse(body),
            (byte)'S' => ParseStatus(body),
            (byte)'T' => ParseTime(body),
            (byte)'H' => new BoardLine(BoardLineKind.Hello, 0, 0, 0, 0),
            _ => default,
        };
    }

    // P<ss>,<tick>[,<width>]
    private static BoardLine ParsePulse(ReadOnlySpan<byte> body)
    {
        uint width = 0;
        uint tag = 0;
        bool good = HasTick(body, out uint tick) && Hex.TryUpper(body.Slice(1, 2), out tag)
            && (body.Length == 12 || (body.Length <= 21 && body[12] == ',' && Hex.TryUpper(body[13..], out width)));
        return good ? new BoardLine(BoardLineKind.Pulse, (byte)tag, tick, width, 0) : default;
    }

    // S,<tick>,<pulses>,<dropped>
    private static BoardLine ParseStatus(ReadOnlySpan<byte> body)
    {
        uint tick = 0;
        uint pulses = 0;
        uint dropped = 0;
        bool good = body.Length == 24 && body[1] == ',' && body[10] == ',' && body[19] == ','
            && Hex.TryUpper(body.Slice(2, 8), out tick) && Hex.TryUpper(body.Slice(11, 8), out pulses) && Hex.TryUpper(body[20..], out dropped);
        return good ? new BoardLine(BoardLineKind.Status, 0, tick, pulses, (ushort)dropped) : default;
    }

    // T<nn>,<tick>: the digits come back as they were asked with, in capitals or not.
    private static BoardLine ParseTime(ReadOnlySpan<byte> body) =>
        body.Length == 12 && HasTick(body, out uint tick) && Hex.TryAny(body.Slice(1, 2), out uint tag)
            ? new BoardLine(BoardLineKind.Time, (byte)tag, tick, 0, 0)
            : default;

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static bool HasTick(ReadOnlySpan<byte> body, out uint tick)
    {
        tick = 0;
        return body.Length >= 12 && body[3] == ',' && Hex.TryUpper(body.Slice(4, 8), out tick);
    }
}
