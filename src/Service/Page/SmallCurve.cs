using System.Buffers.Text;

namespace Acquire.Service.Page;

/// <summary>A run's speed in a few points, for a table: read from some forty places of speed.csv instead of all of it, so that a library of thousands of runs is there at once.</summary>
internal static class SmallCurve
{
    /// <summary>Points of a curve.</summary>
    public const int Points = 40;

    private const int LineBytes = 256; // longer than two lines
    private static ReadOnlySpan<byte> Header => "time_s,rpm"u8;

    /// <summary>Reads it: speeds in whole turns a minute at even times from the first row to the last; null where the signal was lost. Empty where there is nothing to read.</summary>
    /// <exception cref="IOException">The file cannot be read.</exception>
    public static IReadOnlyList<int?> Read(string folder)
    {
        string path = Path.Combine(folder, "speed.csv");
        if (!File.Exists(path)) return [];
        using Microsoft.Win32.SafeHandles.SafeFileHandle file = File.OpenHandle(path);
        List<(double TimeS, double Rpm)> rows = Rows(file, RandomAccess.GetLength(file));
        if (rows.Count < 2 || !(rows[^1].TimeS > rows[0].TimeS)) return [];
        var curve = new int?[Points];
        int at = 0;
        for (int i = 0; i < Points; i++)
        {
            double timeS = rows[0].TimeS + (i * (rows[^1].TimeS - rows[0].TimeS) / (Points - 1));
            while (at < rows.Count - 2 && rows[at + 1].TimeS < timeS) at++;
            ((double t0, double a), (double t1, double b)) = (rows[at], rows[at + 1]);
            double rpm = t1 > t0 ? a + ((timeS - t0) / (t1 - t0) * (b - a)) : b;
            curve[i] = double.IsFinite(rpm) && Math.Abs(rpm) < 1e9 ? (int)Math.Round(rpm) : null;
        }

        return curve;
    }

    private static List<(double TimeS, double Rpm)> Rows(Microsoft.Win32.SafeHandles.SafeFileHandle file, long length)
    {
        var rows = new List<(double, double)>(Points + 1);
        Span<byte> buffer = stackalloc byte[LineBytes];
        int got = RandomAccess.Read(file, buffer, 0);
        int header = buffer[..got].IndexOf((byte)'\n');
        if (header < 0 || !buffer[..got].StartsWith(Header)) return rows;
        long begin = header + 1;
        for (int i = 0; i <= Points; i++)
        {
            // Of a place in the middle of a line the next line is read; the last place is one line before the end.
            long place = begin + ((length - begin) * i / Points);
            if (i == Points) place = Math.Max(begin, length - LineBytes);
            long from = place == begin ? begin : place - 1;
            got = RandomAccess.Read(file, buffer, from);
            ReadOnlySpan<byte> text = buffer[..got];
            if (place != begin) text = After(text);
            if (i == Points) text = LastLine(text);
            if (TryRow(text, out double timeS, out double rpm) && (rows.Count == 0 || timeS > rows[^1].Item1)) rows.Add((timeS, rpm));
        }

        return rows;
    }

    private static ReadOnlySpan<byte> After(ReadOnlySpan<byte> text) => text.IndexOf((byte)'\n') is >= 0 and int end ? text[(end + 1)..] : [];

    private static ReadOnlySpan<byte> LastLine(ReadOnlySpan<byte> text)
    {
        int end = text.LastIndexOf((byte)'\n');
        if (end < 0) return [];
        return text[(text[..end].LastIndexOf((byte)'\n') + 1)..(end + 1)];
    }

    private static bool TryRow(ReadOnlySpan<byte> text, out double timeS, out double rpm)
    {
        rpm = double.NaN;
        timeS = double.NaN;
        int end = text.IndexOf((byte)'\n');
        if (end < 0 || !Utf8Parser.TryParse(text[..end], out timeS, out int read) || read >= end || text[read] != (byte)',') return false;
        if (!Utf8Parser.TryParse(text[(read + 1)..end], out rpm, out _)) rpm = double.NaN;
        return double.IsFinite(timeS);
    }
}
