using System.Buffers.Binary;
using System.IO.Hashing;

namespace Acquire.Recording;

/// <summary>The bytes of a journal; see journal-format.md.</summary>
internal static class JournalFormat
{
    public const int Version = 1;
    public const int FileHeaderBytes = 16;
    public const int HeadBytes = 13;
    public const int FrameBytes = HeadBytes + 4;
    public const int MaxPayloadBytes = 1 << 20;
    private const byte LastKind = 127;
    private const int CheckedHeaderBytes = 12;

    public enum Found
    {
        /// <summary>A record is there and its check holds.</summary>
        Whole,

        /// <summary>It may be a record, but bytes are missing.</summary>
        Incomplete,

        /// <summary>No record begins here.</summary>
        Bad,
    }

    // CR, LF: a copy made in a text mode shows at once.
    public static ReadOnlySpan<byte> Magic => "acqjnl\r\n"u8;

    public static byte[] FileHeader()
    {
        var header = new byte[FileHeaderBytes];
        Magic.CopyTo(header);
        BinaryPrimitives.WriteInt32LittleEndian(header.AsSpan(8), Version);
        BinaryPrimitives.WriteUInt32LittleEndian(
            header.AsSpan(CheckedHeaderBytes), Crc32.HashToUInt32(header.AsSpan(0, CheckedHeaderBytes)));
        return header;
    }

    /// <summary>True where the file's header is whole; its version may still be another.</summary>
    public static bool TryReadFileHeader(ReadOnlySpan<byte> header, out int version)
    {
        version = BinaryPrimitives.ReadInt32LittleEndian(header[8..]);
        return header.StartsWith(Magic)
            && BinaryPrimitives.ReadUInt32LittleEndian(header[CheckedHeaderBytes..]) == Crc32.HashToUInt32(header[..CheckedHeaderBytes]);
    }

    public static void Encode(Span<byte> record, byte kind, long hostNs, ReadOnlySpan<byte> payload)
    {
        BinaryPrimitives.WriteInt32LittleEndian(record, payload.Length);
        record[4] = kind;
        BinaryPrimitives.WriteInt64LittleEndian(record[5..], hostNs);
        payload.CopyTo(record[HeadBytes..]);
        int checkedBytes = HeadBytes + payload.Length;
        BinaryPrimitives.WriteUInt32LittleEndian(record[checkedBytes..], Crc32.HashToUInt32(record[..checkedBytes]));
    }

    /// <summary>Says whether a record begins at the first byte, and how long its payload is.</summary>
    public static Found Look(ReadOnlySpan<byte> bytes, out int payloadLength)
    {
        payloadLength = 0;
        if (bytes.Length < FrameBytes)
            return Found.Incomplete;
        int length = BinaryPrimitives.ReadInt32LittleEndian(bytes);
        if (length is < 0 or > MaxPayloadBytes || bytes[4] is 0 or > LastKind)
            return Found.Bad;
        if (bytes.Length < FrameBytes + length)
            return Found.Incomplete;
        int checkedBytes = HeadBytes + length;
        if (BinaryPrimitives.ReadUInt32LittleEndian(bytes[checkedBytes..]) != Crc32.HashToUInt32(bytes[..checkedBytes]))
            return Found.Bad;
        payloadLength = length;
        return Found.Whole;
    }
}
