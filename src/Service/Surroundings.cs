using System.Collections;

namespace Acquire.Service;

/// <summary>What a command finds around it: streams, environment, folders and time. The process has one; tests make their own.</summary>
public sealed class Surroundings
{
    /// <summary>Standard input.</summary>
    public TextReader In { get; init; } = TextReader.Null;

    /// <summary>Standard output: only what a program reads.</summary>
    public required TextWriter Out { get; init; }

    /// <summary>Standard error: logs, progress, displays.</summary>
    public required TextWriter Error { get; init; }

    /// <summary>True where standard input is a terminal.</summary>
    public bool InIsTerminal { get; init; }

    /// <summary>True where standard output is a terminal.</summary>
    public bool OutIsTerminal { get; init; }

    /// <summary>True where standard error is a terminal.</summary>
    public bool ErrorIsTerminal { get; init; }

    /// <summary>The environment's variables.</summary>
    public IReadOnlyDictionary<string, string> Environment { get; init; } = new Dictionary<string, string>();

    /// <summary>The folder that relative paths start from.</summary>
    public required string CurrentFolder { get; init; }

    /// <summary>The folder of the program's own files.</summary>
    public required string ProgramFolder { get; init; }

    /// <summary>The clock.</summary>
    public TimeProvider Time { get; init; } = TimeProvider.System;

    /// <summary>Ends a capture as Ctrl-C does.</summary>
    public CancellationToken Stop { get; init; }

    /// <summary>The surroundings of this process.</summary>
    public static Surroundings OfProcess() => new()
    {
        In = Console.In,
        Out = Console.Out,
        Error = Console.Error,
        InIsTerminal = !Console.IsInputRedirected,
        OutIsTerminal = !Console.IsOutputRedirected,
        ErrorIsTerminal = !Console.IsErrorRedirected,
        Environment = System.Environment.GetEnvironmentVariables().Cast<DictionaryEntry>()
            .ToDictionary(e => (string)e.Key, e => (string?)e.Value ?? "", StringComparer.Ordinal),
        CurrentFolder = Directory.GetCurrentDirectory(),
        ProgramFolder = AppContext.BaseDirectory,
    };

    /// <summary>A path made full from the current folder.</summary>
    public string FullPath(string path) => Path.GetFullPath(path, CurrentFolder);

    /// <summary>An environment variable that is set and not empty, or null.</summary>
    public string? Variable(string name) => Environment.TryGetValue(name, out string? value) && value.Length > 0 ? value : null;
}
