namespace Acquire.Service.Commands;

/// <summary>Ends a command whose call or input is wrong.</summary>
internal static class Refusal
{
    /// <summary>Says what is wrong.</summary>
    /// <returns><see cref="ExitCode.WrongCall"/>.</returns>
    public static int Refuse(this Surroundings surroundings, string command, params IEnumerable<string> problems)
    {
        foreach (string problem in problems) surroundings.Error.WriteLine($"acquire {command}: {problem}");
        surroundings.Error.WriteLine($"See acquire {command} --help.");
        return ExitCode.WrongCall;
    }
}
