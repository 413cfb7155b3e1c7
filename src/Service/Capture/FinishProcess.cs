using System.Runtime.InteropServices;
using System.Text.Json;
using System.Text.Json.Serialization;
using Acquire.Recording;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Capture;

/// <summary>Has a run made into a package by a process of its own, so that a capture stays as small as it was before its first run. Where that process
/// cannot be started or is ended, the capture makes the package itself: a run is saved whatever becomes of the process.</summary>
/// <param name="library">Where packages go.</param>
/// <param name="logger">Where it is said that a process did not do it.</param>
internal sealed class FinishProcess(string library, ILogger logger)
{
    private const int LongestMs = 1_800_000;

    /// <summary>The option of <c>acquire recover</c> that answers; no one else is to use it, so it is not in the help.</summary>
    public const string Option = "--asked-by-capture";

    /// <summary>Makes the package.</summary>
    /// <returns>The run's folder.</returns>
    /// <exception cref="IOException">The disk did not take it.</exception>
    /// <exception cref="RunFormatException">It has fewer than four marks.</exception>
    public string Finish(UnsavedRun run)
    {
        FinishAnswer answer;
        try
        {
            answer = Ask(run);
        }
        catch (InvalidOperationException e)
        {
            logger.LogInformation("No process of its own saved the run ({Problem}); the capture saves it.", e.Message);
            return RunFinisher.Of(run.Journal, library, logger).Finish(run with { MayBeSaved = true });
        }

        if (answer.DiskProblem is { } problem)
            throw new IOException(problem);
        if (answer.Warning is { } warning)
            logger.LogWarning("{Warning}", warning);
        return answer.Folder!;
    }

    private FinishAnswer Ask(UnsavedRun run)
    {
        string question = JsonSerializer.Serialize(new FinishQuestion(Path.GetFullPath(library), run with { Journal = Path.GetFullPath(run.Journal) }), FinishJson.Default.FinishQuestion);
        string answer = OwnProcess.RunTied(["recover", Option], question, LongestMs);
        try
        {
            if (JsonSerializer.Deserialize(answer, FinishJson.Default.FinishAnswer) is { } read && (read.Folder ?? read.DiskProblem) is not null)
                return read;
        }
        catch (JsonException e)
        {
            throw new InvalidOperationException($"its answer is none: {e.Message}", e);
        }

        throw new InvalidOperationException("its answer says nothing");
    }

    /// <summary>Answers: one line of question, one of answer. What else is read is the sign that the one who asked is still there.</summary>
    /// <param name="question">Where the question is read from; its end says that nobody waits for the answer any more.</param>
    /// <param name="answer">Where the answer goes.</param>
    /// <param name="alone">Called on another thread where the question's input ends; is to end the process.</param>
    /// <exception cref="RunFormatException">The question is none, or the run has fewer than four marks.</exception>
    public static void Answer(TextReader question, TextWriter answer, Action alone)
    {
        FinishQuestion asked = Read(question.ReadLine() ?? "");
        new Thread(() => WaitForEnd(question, alone)) { IsBackground = true, Name = "asker" }.Start();
        FinishAnswer made = Make(asked);
        answer.WriteLine(JsonSerializer.Serialize(made, FinishJson.Default.FinishAnswer));
        answer.Flush();
    }

    /// <summary>Leaves it to the capture when the process ends: a signal to all that belongs to a terminal or a service is the capture's to follow.</summary>
    public static IDisposable[] LeaveSignals() =>
        [.. new[] { PosixSignal.SIGINT, PosixSignal.SIGTERM, PosixSignal.SIGHUP }.Select(s => PosixSignalRegistration.Create(s, raised => raised.Cancel = true))];

    private static FinishAnswer Make(FinishQuestion asked)
    {
        var said = new LastWarning();
        try
        {
            if (asked.Run.MayBeSaved)
                StillFinishing.WaitUntilNone(asked.Library); // it may just be being saved
            using IDisposable still = StillFinishing.Enter(asked.Library);
            string folder = RunFinisher.Of(asked.Run.Journal, asked.Library, said).Finish(asked.Run);
            return new FinishAnswer(folder, said.Text, null);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return new FinishAnswer(null, null, e.Message);
        }
    }

    private static FinishQuestion Read(string line)
    {
        try
        {
            if (JsonSerializer.Deserialize(line, FinishJson.Default.FinishQuestion) is { Library: not null, Run: { Journal: not null, Reason: not null } } asked)
                return asked;
        }
        catch (JsonException e)
        {
            throw new RunFormatException("standard input", "line 1", "no JSON", "a library, a journal and a run's bounds in it", e);
        }

        throw new RunFormatException("standard input", "line 1", "a question without its parts", "a library, a journal and a run's bounds in it");
    }

    private static void WaitForEnd(TextReader question, Action alone)
    {
        while (question.ReadLine() is not null)
        {
            // Nothing more is asked.
        }

        alone();
    }

    private sealed class LastWarning : ILogger
    {
        public string? Text { get; private set; }

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (IsEnabled(logLevel))
                Text = formatter(state, exception);
        }
    }
}

/// <summary>What a capture asks.</summary>
/// <param name="Library">Full path of the library.</param>
/// <param name="Run">The run, the journal by its full path.</param>
internal sealed record FinishQuestion(string Library, UnsavedRun Run);

/// <summary>What came of it.</summary>
/// <param name="Folder">The run's folder; null where the disk did not take it.</param>
/// <param name="Warning">What is to be said in the log; or null.</param>
/// <param name="DiskProblem">Why the disk did not take it; or null.</param>
internal sealed record FinishAnswer(string? Folder, string? Warning, string? DiskProblem);

/// <summary>JSON of question and answer, each on one line.</summary>
[JsonSerializable(typeof(FinishQuestion))]
[JsonSerializable(typeof(FinishAnswer))]
internal sealed partial class FinishJson : JsonSerializerContext;
