namespace Acquire.Service.Tests;

/// <summary>A place of its own for a call of the program: folders, environment and streams, removed afterwards.</summary>
internal sealed class Bench : IDisposable
{
    private readonly StringWriter _out = new();
    private readonly StringWriter _error = new();

    public Bench()
    {
        Folder = Directory.CreateTempSubdirectory("acquire-test-").FullName;
        Current = Directory.CreateDirectory(Path.Combine(Folder, "here")).FullName;
        Program = Directory.CreateDirectory(Path.Combine(Folder, "program")).FullName;
        Library = Path.Combine(Current, "runs");
    }

    public string Folder { get; }

    public string Current { get; }

    public string Program { get; }

    /// <summary>The library that a call finds where nothing names another.</summary>
    public string Library { get; }

    public Dictionary<string, string> Environment { get; } = [];

    public CancellationToken Stop { get; init; } = TestContext.Current.CancellationToken;

    public string Out => _out.ToString();

    public string Error => _error.ToString();

    public Surroundings Surroundings => new()
    {
        Out = _out,
        Error = TextWriter.Synchronized(_error),
        Environment = Environment,
        CurrentFolder = Current,
        ProgramFolder = Program,
        Stop = Stop,
    };

    public int Run(params string[] args) => Acquire.Service.Commands.AcquireCommand.Run(args, Surroundings);

    public void Dispose() => Directory.Delete(Folder, recursive: true);
}
