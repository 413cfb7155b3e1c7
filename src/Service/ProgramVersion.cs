using System.Reflection;

namespace Acquire.Service;

/// <summary>The program's name and version.</summary>
public static class ProgramVersion
{
    /// <summary>The version, such as <c>0.1.0</c>.</summary>
    public static readonly string Number = ReadNumber();

    /// <summary>Name and version, as a run's descriptor names the program that wrote it: <c>acquire 0.1.0</c>.</summary>
    public static readonly string Software = "acquire " + Number;

    private static string ReadNumber()
    {
        string full = typeof(ProgramVersion).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "0";
        int build = full.IndexOf('+', StringComparison.Ordinal);
        return build < 0 ? full : full[..build];
    }
}
