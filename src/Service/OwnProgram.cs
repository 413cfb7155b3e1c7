using System.Diagnostics;

namespace Acquire.Service;

/// <summary>Calls of this program as processes of their own: their memory, time and faults are not the recorder's.</summary>
internal static class OwnProgram
{
    private const string FirstToGo = "800"; // of oom_score_adj(5): the system ends this before the recorder if memory runs out
    private static readonly string[] NotTheirs = ["NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"];

    /// <summary>Starts one; its streams are redirected, nothing comes from its standard input.</summary>
    /// <param name="words">The words of the call.</param>
    /// <param name="folder">Its current folder; null for this process's.</param>
    /// <exception cref="InvalidOperationException">No process could be started.</exception>
    public static Process Start(IEnumerable<string> words, string? folder = null)
    {
        Process process = Process.Start(Call(words, folder)) ?? throw new InvalidOperationException("no process could be started");
        process.StandardInput.Close();
        Modest(process);
        return process;
    }

    /// <summary>Ends one with all that it started.</summary>
    public static void Kill(Process process)
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

    private static ProcessStartInfo Call(IEnumerable<string> words, string? folder)
    {
        string library = typeof(OwnProgram).Assembly.Location; // empty where all is one file
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
}
