using System.Buffers;
using System.Globalization;
using System.Text;

namespace Acquire.Recording;

/// <summary>Text of a CSV table under way, in UTF-8: fields with the separators of RFC 4180, lines ended by LF.</summary>
internal sealed class CsvText
{
    private static readonly SearchValues<char> NeedQuotes = SearchValues.Create(",\"\r\n");
    private byte[] _bytes = new byte[64 << 10];
    private int _length;
    private bool _lineBegun;

    public ReadOnlySpan<byte> Written => _bytes.AsSpan(0, _length);

    public void Clear() => _length = 0;

    public void Field(string text)
    {
        Separate();
        if (text.AsSpan().ContainsAny(NeedQuotes))
            text = $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
        Span<byte> room = Room(Encoding.UTF8.GetMaxByteCount(text.Length));
        _length += Encoding.UTF8.GetBytes(text, room);
    }

    /// <summary>A number with that many decimals; nothing for a number that is not known.</summary>
    public void Field(double value, int decimals)
    {
        Separate();
        if (!double.IsFinite(value))
            return;
        Span<byte> room = Room(400);
        value.TryFormat(room, out int written, $"F{decimals}", CultureInfo.InvariantCulture);
        _length += written;
    }

    /// <summary>A number with nine decimals, less the zeros at the end beyond the third.</summary>
    public void Time(double valueS)
    {
        Field(valueS, 9);
        for (int i = 0; i < 6 && _length > 0 && _bytes[_length - 1] == '0'; i++)
            _length--;
    }

    public void EndLine()
    {
        Room(1)[0] = (byte)'\n';
        _length++;
        _lineBegun = false;
    }

    private void Separate()
    {
        if (_lineBegun)
        {
            Room(1)[0] = (byte)',';
            _length++;
        }

        _lineBegun = true;
    }

    private Span<byte> Room(int bytes)
    {
        if (_bytes.Length - _length < bytes)
            Array.Resize(ref _bytes, Math.Max(_bytes.Length * 2, _length + bytes));
        return _bytes.AsSpan(_length);
    }
}
