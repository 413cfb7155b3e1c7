namespace Acquire.Acquisition.Serial;

/// <summary>Finds which program has a port open, as far as the system lets this user see.</summary>
internal static class PortHolder
{
    /// <summary>Looks through the descriptors of the processes.</summary>
    /// <returns><c>pid 123 (name)</c>, or null where none was seen.</returns>
    internal static string? Find(string port)
    {
        string target = SerialLinks.RealPath(port);
        foreach (string process in Folders("/proc"))
        {
            string name = Path.GetFileName(process);
            if (!int.TryParse(name, out int pid) || pid == Environment.ProcessId)
                continue;
            if (Folders(Path.Combine(process, "fd")).Any(descriptor => Target(descriptor) == target))
                return Describe(pid, Text(Path.Combine(process, "comm")));
        }

        return null;
    }

    internal static string Describe(int pid, string program) => program.Length == 0 ? $"pid {pid}" : $"pid {pid} ({program})";

    private static string[] Folders(string path)
    {
        try
        {
            return Directory.GetFileSystemEntries(path);
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }

    private static string? Target(string link)
    {
        try
        {
            return new FileInfo(link).LinkTarget;
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    private static string Text(string path)
    {
        try
        {
            return File.ReadAllText(path).Trim();
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            return "";
        }
    }
}
