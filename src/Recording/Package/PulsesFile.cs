using System.Text;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Recording;

/// <summary>Reads pulses.csv in pieces, on all processors: first the lines are counted, then each piece fills its rows.</summary>
internal static class PulsesFile
{
    private const int PieceBytes = 4 << 20;
    private const int LongestLine = 4096;

    public static RunPulses Read(string path)
    {
        using SafeFileHandle handle = File.OpenHandle(path);
        long bytes = RandomAccess.GetLength(handle);
        long begin = ReadHeader(path, handle);
        int pieces = checked((int)((bytes - begin + PieceBytes - 1) / PieceBytes));
        var linesBefore = new int[pieces + 1];
        CountLines(handle, begin, bytes, linesBefore);
        var pulses = new RunPulses(linesBefore[pieces]);
        var problems = new RunFormatException?[pieces];
        Parallel.For(0, pieces, () => new byte[PieceBytes + LongestLine + 1], (piece, _, buffer) =>
        {
            try
            {
                ReadPiece(path, handle, begin, piece, linesBefore[piece], buffer, pulses);
            }
            catch (RunFormatException e)
            {
                problems[piece] = e;
            }

            return buffer;
        }, _ => { });
        if (Array.Find(problems, problem => problem is not null) is { } first)
            throw first;
        return pulses;
    }

    private static long ReadHeader(string path, SafeFileHandle handle)
    {
        var start = new byte[LongestLine];
        int read = RandomAccess.Read(handle, start, 0);
        ReadOnlySpan<byte> bytes = start.AsSpan(0, read);
        int mark = bytes.StartsWith(Encoding.UTF8.Preamble) ? Encoding.UTF8.Preamble.Length : 0;
        bytes = bytes[mark..];
        int end = bytes.IndexOf((byte)'\n');
        string header = Encoding.UTF8.GetString(end < 0 ? bytes : bytes[..end]).TrimEnd('\r');
        if (header != RunTables.Pulses.Header)
            throw new RunFormatException(path, "line 1", $"the columns {Short(header)}", RunTables.Pulses.Header);
        return mark + (end < 0 ? bytes.Length : end + 1);
    }

    /// <summary>After this, element i holds how many lines begin before piece i.</summary>
    private static void CountLines(SafeFileHandle handle, long begin, long bytes, int[] linesBefore)
    {
        int pieces = linesBefore.Length - 1;
        Parallel.For(0, pieces, () => new byte[PieceBytes], (piece, _, buffer) =>
        {
            int read = ReadFully(handle, buffer, begin + ((long)piece * PieceBytes));
            linesBefore[piece + 1] = buffer.AsSpan(0, read).Count((byte)'\n');
            return buffer;
        }, _ => { });
        for (int piece = 0; piece < pieces; piece++)
            linesBefore[piece + 1] += linesBefore[piece];
        var last = new byte[1];
        if (bytes > begin && RandomAccess.Read(handle, last, bytes - 1) == 1 && last[0] != '\n')
            linesBefore[pieces]++;
    }

    private static void ReadPiece(string path, SafeFileHandle handle, long begin, int piece, int row, byte[] buffer, RunPulses into)
    {
        // One byte before the piece tells whether a line begins exactly with it.
        int lead = piece > 0 ? 1 : 0;
        int read = ReadFully(handle, buffer, begin + ((long)piece * PieceBytes) - lead);
        ReadOnlySpan<byte> bytes = buffer.AsSpan(0, read);
        int pieceEnd = Math.Min(read, PieceBytes + lead);
        int at = 0;
        if (lead > 0)
        {
            int end = bytes.IndexOf((byte)'\n');
            if (end < 0)
                return;
            at = end + 1;
            // The line that this piece's first newline ends began before it and is counted there.
            if (end > 0)
                row++;
        }

        while (at < pieceEnd)
        {
            int length = bytes[at..].IndexOf((byte)'\n');
            ReadOnlySpan<byte> line = length < 0 ? bytes[at..] : bytes.Slice(at, length);
            if (line.Length > LongestLine)
                throw new RunFormatException(path, $"line {row + 2}", $"a line of more than {LongestLine} bytes", RunTables.Pulses.Header);
            if (PulseLine.Read(line, row, into) is { } expected)
                throw new RunFormatException(path, $"line {row + 2}", $"'{Short(Encoding.UTF8.GetString(line))}'", expected);
            row++;
            at += line.Length + 1;
        }
    }

    private static int ReadFully(SafeFileHandle handle, byte[] buffer, long position)
    {
        int total = 0;
        while (total < buffer.Length)
        {
            int read = RandomAccess.Read(handle, buffer.AsSpan(total), position + total);
            if (read == 0)
                break;
            total += read;
        }

        return total;
    }

    private static string Short(string text) => text.Length <= 120 ? text : text[..120] + "…";
}
