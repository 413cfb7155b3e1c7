using System.Globalization;
using System.Text;

namespace Acquire.Acquisition.Simulation;

/// <summary>Makes up when a host would have read what the board sent, and when it would have asked.</summary>
internal sealed class SyntheticHost(SimulatedBoard board, HostDelays delays, SeededNoise noise, PatientWriter writer)
{
    private readonly byte[] _read = new byte[4096];
    private readonly Queue<(double ReadS, ReadOnlyMemory<byte> Bytes)> _onTheWay = new();
    private int _length;
    private double _readS;
    private double _arrivalS;

    internal void Play(double endS)
    {
        int question = 0;
        for (double askS = delays.AskEveryS; delays.AskEveryS > 0 && askS < endS; askS += delays.AskEveryS)
        {
            SendUntil(askS);
            Flush();
            byte[] text = Encoding.ASCII.GetBytes(string.Create(CultureInfo.InvariantCulture, $"T{question++ & 0xFF:X2}\n"));
            writer.Write(SourceBlockKind.Asked, HostNs(askS), text);
            board.Receive(askS + delays.ToBoardS(noise), text);
        }

        SendUntil(double.PositiveInfinity);
        Flush();
    }

    /// <summary>Writes what the host had read by a moment; what left the board by then and was not read yet stays on its way.</summary>
    private void SendUntil(double untilS)
    {
        while (_onTheWay.TryPeek(out var first) && first.ReadS <= untilS)
            Read(_onTheWay.Dequeue());
        while (board.TryNext(untilS, out double sentS, out ReadOnlyMemory<byte> bytes))
        {
            _arrivalS = Math.Max(_arrivalS, sentS + delays.ToHostS(noise));
            double readS = delays.ReadEveryS > 0 ? Math.Ceiling(_arrivalS / delays.ReadEveryS) * delays.ReadEveryS : _arrivalS;
            if (readS <= untilS && _onTheWay.Count == 0)
                Read((readS, bytes));
            else
                _onTheWay.Enqueue((readS, bytes.ToArray()));
        }
    }

    private void Read((double ReadS, ReadOnlyMemory<byte> Bytes) line)
    {
        if (line.ReadS != _readS || delays.ReadEveryS <= 0 || _length + line.Bytes.Length > _read.Length)
            Flush();
        _readS = line.ReadS;
        line.Bytes.CopyTo(_read.AsMemory(_length));
        _length += line.Bytes.Length;
    }

    private void Flush()
    {
        if (_length > 0)
            writer.Write(SourceBlockKind.Bytes, HostNs(_readS), _read.AsSpan(0, _length));
        _length = 0;
    }

    private static long HostNs(double timeS) => SimulatedPulseSource.SyntheticStartNs + (long)Math.Round(timeS * 1e9);
}
