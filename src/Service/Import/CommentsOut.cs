namespace Acquire.Service.Import;

/// <summary>Reads a text with lines that begin with # emptied, so that lines keep their numbers.</summary>
internal sealed class CommentsOut(TextReader inner) : TextReader
{
    private readonly char[] _buffer = new char[16 << 10];
    private int _at;
    private int _length;
    private bool _atStart = true;
    private bool _inComment;

    /// <inheritdoc/>
    public override int Peek() => Fill() ? _buffer[_at] : -1;

    /// <inheritdoc/>
    public override int Read()
    {
        Span<char> one = stackalloc char[1];
        return Read(one) == 1 ? one[0] : -1;
    }

    /// <inheritdoc/>
    public override int Read(char[] buffer, int index, int count) => Read(buffer.AsSpan(index, count));

    /// <inheritdoc/>
    public override int Read(Span<char> buffer)
    {
        int given = 0;
        while (given < buffer.Length && Fill())
        {
            char c = _buffer[_at++];
            bool ends = c is '\n' or '\r';
            _inComment |= _atStart && c == '#';
            _atStart = ends || (_atStart && c is ' ' or '\t');
            _inComment &= !ends;
            if (!_inComment)
                buffer[given++] = c;
        }

        return given;
    }

    /// <inheritdoc/>
    protected override void Dispose(bool disposing)
    {
        if (disposing)
            inner.Dispose();
        base.Dispose(disposing);
    }

    private bool Fill()
    {
        if (_at < _length)
            return true;
        _length = inner.Read(_buffer, 0, _buffer.Length);
        _at = 0;
        return _length > 0;
    }
}
