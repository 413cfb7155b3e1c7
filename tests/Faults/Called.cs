using Acquire.Service;
using Acquire.Service.Commands;

namespace Acquire.Faults;

/// <summary>A call of the program in this process, and what came of it.</summary>
/// <param name="Code">The exit code.</param>
/// <param name="Out">Standard output.</param>
/// <param name="Error">Standard error.</param>
/// <param name="Crash">What the program let through, which would have been a stack on the user's screen; or null.</param>
internal sealed record Called(int Code, string Out, string Error, Exception? Crash)
{
    public static Called Acquire(string folder, params string[] words)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var surroundings = new Surroundings
        {
            Out = TextWriter.Synchronized(output),
            Error = TextWriter.Synchronized(error),
            CurrentFolder = folder,
            ProgramFolder = folder,
        };
        try
        {
            int code = AcquireCommand.Run(words, surroundings);
            return new Called(code, output.ToString(), error.ToString(), null);
        }
        catch (Exception e)
        {
            return new Called(-1, output.ToString(), error.ToString(), e);
        }
    }

    /// <summary>Adds what is wrong where the call crashed or ended with a code that it should not have.</summary>
    public Called Expect(List<string> wrong, string what, params int[] codes)
    {
        if (Crash is not null)
            wrong.Add($"{what} crashed: {Crash}");
        else if (!codes.Contains(Code))
            wrong.Add($"{what} ended with {Code}: {Out} {Error}");
        return this;
    }
}

/// <summary>A folder that is gone afterwards.</summary>
internal sealed class Scratch : IDisposable
{
    public string Folder { get; } = Directory.CreateTempSubdirectory("acquire-faults-").FullName;

    public string At(string name) => Path.Combine(Folder, name);

    public void Dispose() => Directory.Delete(Folder, recursive: true);
}
