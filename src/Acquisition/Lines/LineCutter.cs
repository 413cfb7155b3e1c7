namespace Acquire.Acquisition.Lines;

/// <summary>Cuts bytes into lines across the borders of reads. A line ends in LF, a CR before it is ignored; one that is too long is counted
/// and skipped up to the next LF.</summary>
internal sealed class LineCutter
{
    /// <summary>The longest line, bytes without CR and LF.</summary>
    internal const int LongestLine = 64;

    private readonly byte[] _part = new byte[LongestLine + 1]; // a CR may follow the longest
    private int _partLength;
    private bool _skipping;

    /// <summary>Lines that were too long.</summary>
    internal long TooLong { get; private set; }

    /// <summary>The line begun and not ended yet.</summary>
    internal ReadOnlySpan<byte> Part => _part.AsSpan(0, _partLength);

    /// <summary>True while the rest of a line that was too long is passed over.</summary>
    internal bool IsSkipping => _skipping;

    /// <summary>Takes the next whole line from the front of <paramref name="rest"/>.</summary>
    /// <param name="rest">The bytes not yet looked at; what was looked at is taken off.</param>
    /// <param name="line">The line without its end, valid until the next call.</param>
    /// <returns>False where no further line ends in <paramref name="rest"/>; the line begun there is kept, and nothing remains.</returns>
    internal bool TryTake(ref ReadOnlySpan<byte> rest, out ReadOnlySpan<byte> line)
    {
        while (!rest.IsEmpty)
        {
            int end = rest.IndexOf((byte)'\n');
            if (end < 0)
            {
                Keep(rest);
                rest = default;
                break;
            }

            line = rest[..end];
            rest = rest[(end + 1)..];
            if ((_partLength > 0 || _skipping) && !TryJoin(ref line))
                continue;
            if (!line.IsEmpty && line[^1] == '\r')
                line = line[..^1];
            if (line.Length <= LongestLine)
                return true;
            TooLong++;
        }

        line = default;
        return false;
    }

    /// <summary>Forgets the line begun. True where there was one that had not been counted yet.</summary>
    internal bool Drop()
    {
        bool dropped = _partLength > 0;
        _partLength = 0;
        _skipping = false;
        return dropped;
    }

    /// <summary>Puts back what <see cref="Part"/> and <see cref="IsSkipping"/> gave.</summary>
    internal void Restore(ReadOnlySpan<byte> part, bool skipping)
    {
        part.CopyTo(_part);
        _partLength = part.Length;
        _skipping = skipping;
    }

    private void Keep(ReadOnlySpan<byte> begun)
    {
        if (_skipping)
            return;
        if (_partLength + begun.Length > _part.Length)
        {
            TooLong++;
            _skipping = true;
            _partLength = 0;
            return;
        }

        begun.CopyTo(_part.AsSpan(_partLength));
        _partLength += begun.Length;
    }

    /// <summary>Joins the kept beginning with its end. False where the line was too long, and is counted.</summary>
    private bool TryJoin(ref ReadOnlySpan<byte> line)
    {
        Keep(line);
        line = _part.AsSpan(0, _partLength);
        _partLength = 0;
        bool whole = !_skipping;
        _skipping = false;
        return whole;
    }
}
