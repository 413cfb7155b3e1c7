using System.IO.Ports;
using System.Runtime.InteropServices;
using Acquire.Acquisition;
using Acquire.Terminals;
using Microsoft.Win32.SafeHandles;

namespace Acquire.Benchmarks;

/// <summary>What the way of a pulse is measured against on the same terminal.</summary>
internal static partial class TerminalReaders
{
    /// <summary>Reads the bytes with read(2) that waits, and does nothing with them: what the terminal itself takes.</summary>
    internal static Measured ReadOnly(SpinBytes spin, MeasureOptions options)
    {
        using var terminal = new PseudoTerminal();
        using SafeFileHandle port = File.OpenHandle(terminal.PortPath);
        var board = new BoardThread(terminal, spin, new PlayedClock(), options.BoardCore, _ => true);
        return Measure(board, spin, () =>
        {
            var buffer = new byte[32 << 10];
            for (int left = spin.Bytes.Length; left > 0;)
                left -= Read(port, buffer);
            return spin.Pulses;
        });
    }

    /// <summary>SerialPort.ReadLine, Split and Parse, to pulses that nobody keeps.</summary>
    internal static Measured SerialPortLines(SpinBytes spin, MeasureOptions options)
    {
        using var terminal = new PseudoTerminal();
        using var port = new SerialPort(terminal.PortPath, 115200) { NewLine = "\n" };
        port.Open();
        var board = new BoardThread(terminal, spin, new PlayedClock(), options.BoardCore, _ => true);
        return Measure(board, spin, () =>
        {
            var lines = new PlainLines();
            int pulses = 0;
            while (pulses < spin.Pulses)
                pulses += lines.TryParse(port.ReadLine(), out Pulse _) ? 1 : 0;
            return lines.Bad == 0 ? pulses : pulses - lines.Bad;
        });
    }

    private static Measured Measure(BoardThread board, SpinBytes spin, Func<int> read)
    {
        (int got, double readerS) = (0, 0);
        var reader = new Thread(() => (got, readerS) = (read(), ThreadTimes.OfThisThreadS())) { Name = "reader" };
        long began = TimeProvider.System.GetTimestamp();
        board.Start();
        reader.Start();
        reader.Join();
        double elapsedS = TimeProvider.System.GetElapsedTime(began).TotalSeconds;
        return new Measured(elapsedS, spin.Pulses, spin.Bytes.Length)
        {
            Lost = spin.Pulses - got,
            BoardS = board.Join(),
            ReaderS = readerS,
        };
    }

    private static unsafe int Read(SafeFileHandle port, byte[] into)
    {
        nint got;
        fixed (byte* at = into)
            got = read(port, at, (nuint)into.Length);
        return got > 0 ? (int)got : throw new IOException($"The terminal could not be read: error {Marshal.GetLastPInvokeError()}.");
    }

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial nint read(SafeFileHandle fd, byte* bytes, nuint length);
}
