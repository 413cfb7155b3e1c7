using System.Diagnostics;
using System.Text;

namespace Acquire.Faults;

/// <summary>The real program as a process of its own; killed at the latest when it is disposed.</summary>
internal sealed class CaptureProcess : IDisposable
{
    private static readonly string Program = Path.Combine(AppContext.BaseDirectory, "acquire.dll");
    private readonly Process _process;
    private readonly StringBuilder _error = new();

    public CaptureProcess(IReadOnlyList<string> before, params string[] words)
    {
        string[] all = [.. before, "dotnet", Program, .. words];
        var start = new ProcessStartInfo(all[0], all[1..]) { RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true };
        start.Environment["DOTNET_NOLOGO"] = "1";
        start.Environment["DOTNET_TieredCompilation"] = "1";
        start.Environment.Remove("ACQUIRE_LIBRARY");
        _process = new Process { StartInfo = start };
        _process.OutputDataReceived += (_, _) => { };
        _process.ErrorDataReceived += (_, line) =>
        {
            lock (_error)
                _error.AppendLine(line.Data);
        };
        _process.Start();
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    public string Error
    {
        get
        {
            lock (_error)
                return _error.ToString();
        }
    }

    public bool HasEnded => _process.HasExited;

    /// <summary>Its number, where nothing stands before it.</summary>
    public int Id => _process.Id;

    /// <summary>What it ended with.</summary>
    public int ExitCode => _process.ExitCode;

    /// <summary>SIGKILL, and the end waited for.</summary>
    public void Kill()
    {
        _process.Kill(entireProcessTree: true);
        _process.WaitForExit();
    }

    /// <summary>Ctrl-C, and the end waited for.</summary>
    public bool Interrupt(int seconds) => Signal("INT", seconds);

    /// <summary>A signal that ends it, and the end waited for.</summary>
    public bool Signal(string name, int seconds)
    {
        // The program may be the child of one that watches it.
        string[] ids = File.ReadAllText($"/proc/{_process.Id}/task/{_process.Id}/children").Split(' ', StringSplitOptions.RemoveEmptyEntries);
        using Process signal = Process.Start("kill", ["-" + name, ids.Length > 0 ? ids[0] : _process.Id.ToString(System.Globalization.CultureInfo.InvariantCulture)]);
        signal.WaitForExit();
        return _process.WaitForExit(seconds * 1000);
    }

    public void Dispose()
    {
        if (!_process.HasExited)
            Kill();
        _process.Dispose();
    }
}
