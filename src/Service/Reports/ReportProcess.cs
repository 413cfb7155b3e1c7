using System.Diagnostics;

namespace Acquire.Service.Reports;

/// <summary>Makes a run's page in a process of its own, so that neither its memory nor its time nor a fault of the drawing library's machine code is the recorder's.</summary>
internal static class ReportProcess
{
    private const int LongestMs = 180_000;
    private const string FirstToGo = "800"; // of oom_score_adj(5): the system ends this before the recorder if memory runs out
    private static readonly string[] NotTheirs = ["NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"];

    /// <summary>Makes the page.</summary>
    /// <param name="folder">The run's folder.</param>
    /// <param name="stop">Ends the process where it is too slow for a capture that ends.</param>
    /// <exception cref="InvalidOperationException">It could not be made; says why.</exception>
    public static void Write(string folder, CancellationToken stop)
    {
        ProcessStartInfo start = Start(folder);
        using Process process = Process.Start(start) ?? throw new InvalidOperationException("no process could be started");
        process.StandardInput.Close();
        Modest(process);
        Task<string> errors = process.StandardError.ReadToEndAsync(CancellationToken.None);
        Task<string> answer = process.StandardOutput.ReadToEndAsync(CancellationToken.None);
        using CancellationTokenRegistration ended = stop.Register(() => Kill(process));
        if (!process.WaitForExit(LongestMs))
        {
            Kill(process);
            throw new InvalidOperationException("it took over three minutes");
        }

        Task.WaitAll(errors, answer);
        if (process.ExitCode != 0)
            throw new InvalidOperationException(stop.IsCancellationRequested ? "the capture ended first" : $"exit {process.ExitCode}: {errors.Result.ReplaceLineEndings(" ").Trim()}");
    }

    private static ProcessStartInfo Start(string folder)
    {
        string library = typeof(ReportProcess).Assembly.Location; // empty where all is one file
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
        };
        string[] words = ["show", folder, "--library", Path.GetDirectoryName(folder)!, "--report"];
        foreach (string word in withHost ? words.Prepend(library) : words)
            start.ArgumentList.Add(word);
        foreach (string name in NotTheirs)
            start.Environment.Remove(name);
        return start;
    }

    // Where the system does not allow it, it is as it is.
    private static void Modest(Process process)
    {
        try
        {
            process.PriorityClass = ProcessPriorityClass.BelowNormal;
        }
        catch (Exception e) when (e is System.ComponentModel.Win32Exception or InvalidOperationException)
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

    private static void Kill(Process process)
    {
        try
        {
            process.Kill(entireProcessTree: true);
        }
        catch (Exception e) when (e is InvalidOperationException or System.ComponentModel.Win32Exception)
        {
            // It has ended.
        }
    }
}
