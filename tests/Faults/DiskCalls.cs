using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace Acquire.Faults;

/// <summary>What a program asked of the file system.</summary>
internal enum DiskCallKind
{
    Create,
    Write,
    Truncate,
    Sync,
    MakeFolder,
    Rename,
    Delete,
}

/// <summary>One call that changed or synced something.</summary>
/// <param name="Kind">What it did.</param>
/// <param name="Path">On what.</param>
/// <param name="To">The new name of a rename.</param>
/// <param name="Position">First byte of a write, or the new length.</param>
/// <param name="Bytes">What was written.</param>
internal sealed record DiskCall(DiskCallKind Kind, string Path, string To = "", long Position = 0, byte[]? Bytes = null);

/// <summary>Reads the calls on files below a folder from what strace(1) wrote with <c>-f -y -xx</c>, in the order in which they returned.</summary>
internal static partial class DiskCalls
{
    public static readonly string[] Strace =
    [
        "strace", "-f", "-qq", "-y", "-xx", "-s", "4194304", "-e", "signal=none", "-e",
        "trace=openat,open,creat,write,pwrite64,pwritev,writev,ftruncate,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat,rmdir,fallocate",
        "-o",
    ];

    public static List<DiskCall> Read(string log, string folder)
    {
        var calls = new List<DiskCall>();
        var begun = new Dictionary<string, string>();
        var positions = new Dictionary<string, long>();
        foreach (string line in File.ReadLines(log))
        {
            Match parts = LinePattern().Match(line);
            if (!parts.Success)
                continue;
            (string thread, string text) = (parts.Groups[1].Value, parts.Groups[2].Value);
            if (text.EndsWith("<unfinished ...>", StringComparison.Ordinal))
            {
                begun[thread] = text[..^16].TrimEnd();
                continue;
            }

            Match resumed = ResumedPattern().Match(text);
            if (resumed.Success && begun.Remove(thread, out string? first))
                text = first + resumed.Groups[1].Value;
            Match call = CallPattern().Match(text);
            if (call.Success && Parse(call.Groups[1].Value, call.Groups[2].Value, long.Parse(call.Groups[3].Value, CultureInfo.InvariantCulture), positions) is { } found
                && (found.Path + "/").StartsWith(folder + "/", StringComparison.Ordinal))
                calls.Add(found);
        }

        return calls;
    }

    private static DiskCall? Parse(string name, string arguments, long result, Dictionary<string, long> positions)
    {
        string[] a = [.. ArgumentPattern().Matches(arguments).Select(m => m.Value.Trim())];
        switch (name)
        {
            case "openat" or "open" or "creat":
                string path = Text(name == "openat" ? a[1] : a[0]);
                bool makes = name == "creat" || arguments.Contains("O_CREAT", StringComparison.Ordinal);
                positions[path] = 0;
                return !makes ? null : new DiskCall(DiskCallKind.Create, path, Position: arguments.Contains("O_TRUNC", StringComparison.Ordinal) ? 0 : -1);
            case "pwrite64":
                byte[] data = Bytes(a[1]);
                return data.Length >= result
                    ? new DiskCall(DiskCallKind.Write, Text(a[0]), "", long.Parse(a[3], CultureInfo.InvariantCulture), data[..(int)result])
                    : throw new InvalidDataException("A write was not recorded whole.");
            case "write":
                string to = Text(a[0]);
                long at = positions.GetValueOrDefault(to);
                positions[to] = at + result;
                return new DiskCall(DiskCallKind.Write, to, "", at, Bytes(a[1])[..(int)result]);
            case "ftruncate":
                return new DiskCall(DiskCallKind.Truncate, Text(a[0]), "", long.Parse(a[1], CultureInfo.InvariantCulture));
            case "fsync" or "fdatasync":
                return new DiskCall(DiskCallKind.Sync, Text(a[0]));
            case "mkdir" or "mkdirat":
                return new DiskCall(DiskCallKind.MakeFolder, Text(a[^2]));
            case "unlink" or "rmdir":
                return new DiskCall(DiskCallKind.Delete, Text(a[0]));
            case "unlinkat":
                return new DiskCall(DiskCallKind.Delete, Text(a[1]));
            case "rename":
                return new DiskCall(DiskCallKind.Rename, Text(a[0]), Text(a[1]));
            case "renameat" or "renameat2":
                return new DiskCall(DiskCallKind.Rename, Text(a[1]), Text(a[3]));
            default:
                throw new InvalidDataException($"The program called {name}, which is not played back.");
        }
    }

    // A path as an argument, or that of a descriptor: 12<path>.
    private static string Text(string argument)
    {
        int from = argument.IndexOfAny(['<', '"']);
        return from < 0 ? argument : Encoding.UTF8.GetString(Unescape(argument[(from + 1)..^1]));
    }

    private static byte[] Bytes(string argument) => Unescape(argument.Trim('"'));

    private static byte[] Unescape(string text)
    {
        var bytes = new List<byte>(text.Length / 4);
        for (int i = 0; i < text.Length; i++)
        {
            bool hex = text[i] == '\\' && i + 3 < text.Length && text[i + 1] == 'x';
            bytes.Add(hex ? byte.Parse(text.AsSpan(i + 2, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture) : (byte)text[i]);
            i += hex ? 3 : 0;
        }

        return [.. bytes];
    }

    [GeneratedRegex(@"^(\d+) +(.*)$")]
    private static partial Regex LinePattern();

    [GeneratedRegex(@"^<\.\.\. \w+ resumed>(.*)$")]
    private static partial Regex ResumedPattern();

    // A call that did not fail.
    [GeneratedRegex(@"^(\w+)\((.*)\) += (\d+)(<.*>)?$")]
    private static partial Regex CallPattern();

    [GeneratedRegex(@"(""[^""]*""|[^,""])+")]
    private static partial Regex ArgumentPattern();
}
