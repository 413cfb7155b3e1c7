using System.ComponentModel;
using System.Runtime.InteropServices;
using Acquire.Terminals;

namespace Acquire.Benchmarks;

/// <summary>Plays the bytes of a spin into a terminal, and sets the clock to the board's time as it goes.</summary>
internal sealed partial class BoardThread
{
    internal const string Name = "board";
    private readonly Thread _thread;
    private Exception? _fault;
    private double _processorS;

    /// <summary>Makes the thread.</summary>
    /// <param name="terminal">Where it writes.</param>
    /// <param name="spin">What it writes.</param>
    /// <param name="clock">The clock that it sets.</param>
    /// <param name="core">The core that it is kept on; −1 for any.</param>
    /// <param name="mayGoOn">False while it has to wait with the next piece; called between pieces.</param>
    internal BoardThread(PseudoTerminal terminal, SpinBytes spin, PlayedClock clock, int core, Func<long, bool> mayGoOn)
    {
        _thread = new Thread(() => Play(terminal, spin, clock, core, mayGoOn)) { Name = Name, IsBackground = true };
    }

    internal void Start() => _thread.Start();

    /// <summary>Waits for its end.</summary>
    /// <returns>Processor time that the thread had, seconds.</returns>
    internal double Join()
    {
        _thread.Join();
        if (_fault is not null)
            throw new InvalidOperationException("The board could not be played.", _fault);
        return _processorS;
    }

    private void Play(PseudoTerminal terminal, SpinBytes spin, PlayedClock clock, int core, Func<long, bool> mayGoOn)
    {
        using var pause = new ManualResetEvent(false);
        try
        {
            KeepTo(core);
            var questions = new byte[256];
            int begin = 0;
            int written = 0;
            foreach ((int end, long ns) in spin.Chunks)
            {
                while (!mayGoOn(end))
                    pause.WaitOne(1);
                clock.Set(ns);
                terminal.Write(spin.Bytes.AsSpan(begin, end - begin));
                begin = end;
                if (++written % 1000 == 0)
                    terminal.Read(questions, 0); // this board does not answer, but must not let questions stand either
            }

            _processorS = ThreadTimes.OfThisThreadS();
        }
        catch (Win32Exception fault)
        {
            _fault = fault;
        }
    }

    private static unsafe void KeepTo(int core)
    {
        if (core < 0)
            return;
        ulong mask = 1UL << core;
        if (sched_setaffinity(0, sizeof(ulong), &mask) < 0)
            throw new Win32Exception(Marshal.GetLastPInvokeError(), $"The thread could not be kept to core {core}.");
    }

    [LibraryImport("libc", SetLastError = true)]
    private static unsafe partial int sched_setaffinity(int thread, nuint size, ulong* mask);
}
