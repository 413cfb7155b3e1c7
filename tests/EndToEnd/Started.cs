using System.Diagnostics;
using System.Runtime.InteropServices;
using System.Text;
using Xunit;

namespace Acquire.EndToEnd.Tests;

/// <summary>A program that a test started: what it writes is collected, and it never outlives the test.</summary>
internal sealed partial class Started : IDisposable
{
    // A limit is for what never comes: however busy the computer is with other things, the rest comes within this.
    private const int LeastS = 120;
    private readonly Process _process;
    private readonly StringBuilder _out = new();
    private readonly StringBuilder _error = new();
    private readonly string? _link;

    public Started(string program, params string[] arguments)
        : this(program, new Dictionary<string, string>(), arguments)
    {
    }

    public Started(string program, IReadOnlyDictionary<string, string> environment, string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true };
        start.Environment["DOTNET_NOLOGO"] = "1";
        start.Environment.Remove("ACQUIRE_LIBRARY");
        foreach ((string name, string value) in environment)
            start.Environment[name] = value;
        _link = arguments.SkipWhile(a => a != "--link").Skip(1).FirstOrDefault();
        _process = new Process { StartInfo = start };
        _process.OutputDataReceived += (_, line) => Collect(_out, line.Data);
        _process.ErrorDataReceived += (_, line) => Collect(_error, line.Data);
        _process.Start();
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    public static Started Acquire(params string[] arguments) => new("dotnet", [Checkout.Program, .. arguments]);

    public static Started Player(params string[] arguments) => new("dotnet", [Checkout.Player, .. arguments]);

    public int Id => _process.Id;

    public string Output => Text(_out);

    public string Error => Text(_error);

    public string LastLine => Output.TrimEnd('\n').Split('\n')[^1];

    /// <summary>Waits for the end and gives the exit code; fails where the program takes longer.</summary>
    public int Wait(int seconds)
    {
        seconds = Math.Max(seconds, LeastS);
        if (!_process.WaitForExit(seconds * 1000))
            throw new TimeoutException($"{_process.StartInfo.FileName} did not end within {seconds} s. It wrote:\n{Output}\n{Error}");
        _process.WaitForExit();
        return _process.ExitCode;
    }

    /// <summary>Waits until the program has written a text to its standard error.</summary>
    /// <param name="text">The text.</param>
    /// <param name="seconds">How long.</param>
    /// <param name="from">Where in what was written it is looked for.</param>
    /// <returns>Where it ends.</returns>
    public async Task<int> Said(string text, int seconds, int from = 0)
    {
        seconds = Math.Max(seconds, LeastS);
        for (int i = 0; i < seconds * 20; i++)
        {
            if (Error.IndexOf(text, from, StringComparison.Ordinal) is >= 0 and int at)
                return at + text.Length;
            await Task.Delay(TimeSpan.FromMilliseconds(50), TimeProvider.System);
        }

        throw new TimeoutException($"'{text}' was not said within {seconds} s, but:\n{Error}");
    }

    public void Signal(int number)
    {
        if (number == 9)
            RemoveLink();
        if (kill(_process.Id, number) != 0)
            Assert.Fail($"It had ended already. It wrote:\n{Output}\n{Error}");
    }

    public void Dispose()
    {
        RemoveLink();
        if (!_process.HasExited)
            _process.Kill(entireProcessTree: true);
        _process.Dispose();
    }

    // A killed board leaves its link to a pseudo-terminal whose number the next board, another test's, is given: a capture that looks for
    // its own board through the link would take that one.
    private void RemoveLink()
    {
        if (_link is not null)
            File.Delete(_link);
    }

    private static void Collect(StringBuilder into, string? line)
    {
        if (line is null)
            return;
        lock (into)
            into.Append(line).Append('\n');
    }

    private static string Text(StringBuilder from)
    {
        lock (from)
            return from.ToString();
    }

    [LibraryImport("libc")]
    private static partial int kill(int process, int signal);
}
