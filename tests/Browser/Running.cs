using System.Diagnostics;
using System.Text;

namespace Acquire.Browser.Tests;

/// <summary>A program beside the tests that runs until it is disposed; what it writes is kept to be shown where a test fails.</summary>
internal sealed class Running : IDisposable
{
    private readonly Process _process;
    private readonly StringBuilder _said = new();

    public Running(string program, params IEnumerable<string> arguments)
    {
        var start = new ProcessStartInfo("dotnet", [Path.Combine(AppContext.BaseDirectory, program), .. arguments]) { RedirectStandardOutput = true, RedirectStandardError = true };
        start.Environment["DOTNET_NOLOGO"] = "1";
        start.Environment.Remove("ACQUIRE_LIBRARY");
        _process = new Process { StartInfo = start };
        _process.OutputDataReceived += Keep;
        _process.ErrorDataReceived += Keep;
        _process.Start();
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    public static Running Acquire(params IEnumerable<string> arguments) => new("acquire.dll", arguments);

    public static Running Board(params IEnumerable<string> arguments) => new("Acquire.Player.dll", arguments);

    public bool HasEnded => _process.HasExited;

    public string Said
    {
        get
        {
            lock (_said) return _said.ToString();
        }
    }

    /// <summary>Waits for the end and gives the exit code.</summary>
    public async Task<int> Ends(CancellationToken cancel)
    {
        await _process.WaitForExitAsync(cancel);
        return _process.ExitCode;
    }

    public void Dispose()
    {
        if (!_process.HasExited) _process.Kill(entireProcessTree: true);
        _process.Dispose();
    }

    private void Keep(object sender, DataReceivedEventArgs line)
    {
        if (line.Data is null) return;
        lock (_said) _said.Append(line.Data).Append('\n');
    }
}
