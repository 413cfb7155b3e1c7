namespace Acquire.Service.Commands;

/// <summary>The program's exit codes; scripts rely on them.</summary>
public static class ExitCode
{
    /// <summary>Done.</summary>
    public const int Done = 0;

    /// <summary>Done, and the answer is no.</summary>
    public const int No = 1;

    /// <summary>The call or its input is wrong.</summary>
    public const int WrongCall = 2;

    /// <summary>It failed on the way.</summary>
    public const int Failed = 3;

    /// <summary>Ended by the user with everything saved.</summary>
    public const int EndedByUser = 130;
}
