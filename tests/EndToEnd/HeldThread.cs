using System.Runtime.InteropServices;

namespace Acquire.EndToEnd.Tests;

/// <summary>Holds one thread of another process still, as a system call that never returns would, by ptrace(2); the process's other threads go
/// on. Only for a process that the tests started.</summary>
internal sealed partial class HeldThread : IDisposable
{
    private const int Seize = 0x4206;
    private const int Interrupt = 0x4207;
    private const int Detach = 17;
    private const int AllThreads = 0x40000000;
    private readonly ManualResetEventSlim _release = new();
    private readonly Thread _tracer;
    private string? _problem;

    public HeldThread(int process, string threadName)
    {
        int thread = Find(process, threadName);
        using var held = new ManualResetEventSlim();

        // All requests must come from the thread that seized.
        _tracer = new Thread(() => Hold(thread, threadName, held)) { IsBackground = true };
        _tracer.Start();
        held.Wait();
        if (_problem is not null)
            throw new InvalidOperationException(_problem);
    }

    public void Dispose()
    {
        _release.Set();
        _tracer.Join();
        _release.Dispose();
    }

    private void Hold(int thread, string name, ManualResetEventSlim held)
    {
        if (ptrace(Seize, thread, 0, 0) != 0 || ptrace(Interrupt, thread, 0, 0) != 0 || waitpid(thread, out _, AllThreads) != thread)
            _problem = $"The thread '{name}' cannot be held: {Marshal.GetLastPInvokeErrorMessage()}. This test needs leave to use ptrace on its own children.";
        held.Set();
        _release.Wait();
        ptrace(Detach, thread, 0, 0);
    }

    private static int Find(int process, string name)
    {
        foreach (string task in Directory.GetDirectories($"/proc/{process}/task"))
        {
            if (File.ReadAllText(task + "/comm").Trim() == name)
                return int.Parse(Path.GetFileName(task), System.Globalization.CultureInfo.InvariantCulture);
        }

        throw new InvalidOperationException($"Process {process} has no thread '{name}'.");
    }

    [LibraryImport("libc", SetLastError = true)]
    private static partial nint ptrace(nint request, int process, nint address, nint data);

    [LibraryImport("libc", SetLastError = true)]
    private static partial int waitpid(int process, out int status, int options);
}
