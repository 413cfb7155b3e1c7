using System.ComponentModel;
using System.Diagnostics;

namespace Acquire.Service;

/// <summary>Has this program do some work in a process of its own, so that neither the memory nor the time nor a fault of that work is the recorder's.</summary>
internal static class OwnProcess
{
    private const string FirstToGo = "800"; // of oom_score_adj(5): the system ends this before the recorder if memory runs out
    private static readonly string[] NotTheirs = ["NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"];

    /// <summary>Runs the program and waits for it.</summary>
    /// <param name="words">The command line.</param>
    /// <param name="input">Writes its standard input; null for none.</param>
    /// <param name="longestMs">How long it may take, ms.</param>
    /// <param name="stop">Ends it before.</param>
    /// <param name="priority">Idle where nobody waits for it.</param>
    /// <returns>What it wrote to standard output.</returns>
    /// <exception cref="InvalidOperationException">It could not be started, took too long, was ended or did not end well; says why.</exception>
    public static string Run(IReadOnlyList<string> words, Action<Stream>? input, int longestMs, CancellationToken stop, ProcessPriorityClass priority = ProcessPriorityClass.BelowNormal)
    {
        using Process process = Start(words, priority: priority);
        using CancellationTokenRegistration ended = stop.Register(() => Kill(process));
        return Outcome(process, longestMs, () => Give(process, input), stop);
    }

    /// <summary>As <see cref="Run"/>, but standard input stays open after one line until the process has ended: its end tells that this one is gone.</summary>
    /// <exception cref="InvalidOperationException">As there; the process has ended then.</exception>
    public static string RunTied(IReadOnlyList<string> words, string line, int longestMs)
    {
        using Process process = Start(words);
        return Outcome(process, longestMs, () => Give(process.StandardInput, line), CancellationToken.None);
    }

    private static string Outcome(Process process, int longestMs, Action give, CancellationToken stop)
    {
        // The process leaves them open when it is disposed, until memory is next tidied up: in a capture that may be hours away.
        using StreamReader error = process.StandardError;
        using StreamReader output = process.StandardOutput;
        Task<string> errors = error.ReadToEndAsync(CancellationToken.None);
        Task<string> answer = output.ReadToEndAsync(CancellationToken.None);
        give();
        if (!process.WaitForExit(longestMs))
        {
            Kill(process);
            process.WaitForExit();
            throw new InvalidOperationException($"it took over {longestMs / 1000} s");
        }

        Task.WaitAll(errors, answer);
        if (process.ExitCode != 0)
            throw new InvalidOperationException(stop.IsCancellationRequested ? "the capture ended first" : $"exit {process.ExitCode}: {errors.Result.ReplaceLineEndings(" ").Trim()}");
        return answer.Result;
    }

    // Where it ended before it had read all, its exit code tells why.
    private static void Give(Process process, Action<Stream>? input)
    {
        try
        {
            using Stream to = process.StandardInput.BaseStream;
            input?.Invoke(to);
        }
        catch (IOException)
        {
            // Told by the exit code.
        }
    }

    private static void Give(StreamWriter input, string line)
    {
        try
        {
            input.WriteLine(line);
            input.Flush();
        }
        catch (IOException)
        {
            // Likewise.
        }
    }

    /// <summary>Starts the program with its streams redirected, and gives it less of the computer than the recorder has.</summary>
    /// <param name="words">The command line.</param>
    /// <param name="folder">Its current folder; null for this process's.</param>
    /// <param name="priority">Less than usual where somebody waits for it, idle where nobody does.</param>
    /// <exception cref="InvalidOperationException">It could not be started.</exception>
    public static Process Start(IReadOnlyList<string> words, string? folder = null, ProcessPriorityClass priority = ProcessPriorityClass.BelowNormal)
    {
        string library = typeof(OwnProcess).Assembly.Location; // empty where all is one file
        string self = Environment.ProcessPath ?? "";
        bool Is(string name) => Path.GetFileNameWithoutExtension(self).Equals(name, StringComparison.OrdinalIgnoreCase);
        string beside = library.Length > 0 ? Path.ChangeExtension(library, OperatingSystem.IsWindows() ? ".exe" : null) : "";
        bool withHost = Is("dotnet") || (!Is("acquire") && !File.Exists(beside));
        var start = new ProcessStartInfo(Is("acquire") ? self : !withHost ? beside : Is("dotnet") ? self : "dotnet")
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            CreateNoWindow = true,
            WorkingDirectory = folder ?? "",
        };
        foreach (string word in withHost ? words.Prepend(library) : words)
            start.ArgumentList.Add(word);
        foreach (string name in NotTheirs)
            start.Environment.Remove(name);
        Process process = Begin(start);
        Modest(process, priority);
        return process;
    }

    private static Process Begin(ProcessStartInfo start)
    {
        try
        {
            return Process.Start(start) ?? throw new InvalidOperationException("no process could be started");
        }
        catch (Win32Exception e)
        {
            throw new InvalidOperationException($"no process could be started: {e.Message}", e); // too little memory, or too many processes
        }
    }

    // Where the system does not allow it, it is as it is.
    private static void Modest(Process process, ProcessPriorityClass priority)
    {
        try
        {
            process.PriorityClass = priority;
        }
        catch (Exception e) when (e is Win32Exception or InvalidOperationException)
        {
            // A service may not be allowed to, or it has ended already.
        }

        try
        {
            if (OperatingSystem.IsLinux())
                File.WriteAllText($"/proc/{process.Id}/oom_score_adj", FirstToGo);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or InvalidOperationException)
        {
            // Likewise.
        }
    }

    /// <summary>Ends it with all that it started.</summary>
    public static void Kill(Process process)
    {
        try
        {
            process.Kill(entireProcessTree: true);
        }
        catch (Exception e) when (e is InvalidOperationException or Win32Exception)
        {
            // It has ended.
        }
    }
}
