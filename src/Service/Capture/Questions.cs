using System.Globalization;
using System.Text;
using Acquire.Acquisition;

namespace Acquire.Service.Capture;

/// <summary>What the host asks a board, and when: its name until it has said it, its time every few seconds.</summary>
internal sealed class Questions(string format, ISourceDecoder decoder)
{
    private const long TimeEveryNs = 10_000_000_000;
    private readonly bool _answers = format == "pulse-lines";
    private long _askedNs = long.MinValue / 2;
    private byte _number;

    /// <summary>Asks what is due.</summary>
    public void Ask(IPulseSource source, long nowNs)
    {
        if (!_answers)
            return;
        if (decoder.WantsName(nowNs))
            source.Ask("?\n"u8);
        if (decoder.BoardName.Length == 0 || nowNs - _askedNs < TimeEveryNs)
            return;
        _askedNs = nowNs;
        _number = unchecked((byte)(_number + 1)); // the protocol numbers its questions modulo 256
        source.Ask(Encoding.ASCII.GetBytes(string.Create(CultureInfo.InvariantCulture, $"T{_number:X2}\n")));
    }
}
