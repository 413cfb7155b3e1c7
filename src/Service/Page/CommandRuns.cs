using System.Diagnostics;
using Microsoft.Extensions.Logging;

namespace Acquire.Service.Page;

/// <summary>What a command answered.</summary>
/// <param name="Code">Its exit code, one of <see cref="Commands.ExitCode"/>.</param>
/// <param name="Json">What it printed.</param>
/// <param name="Problems">What it said besides, line by line.</param>
internal sealed record CommandAnswer(int Code, byte[] Json, IReadOnlyList<string> Problems);

/// <summary>Works results out by the commands themselves, each in a process of its own: the page cannot give another figure than the command line, and a heavy or hanging
/// one costs the capture neither memory nor a thread. Few at once; what was asked lately is remembered while the library is the same.</summary>
internal sealed class CommandRuns : IDisposable
{
    private const int AtOnce = 2;
    private const int MostWaiting = 8;
    private const int MostKept = 32;
    private const int MostKeptBytes = 1 << 20;
    private const int MostAnswerBytes = 64 << 20;
    private const int MostProblemChars = 20_000;
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(2);
    private readonly string _library;
    private readonly ILogger _logger;
    private readonly SemaphoreSlim _places = new(AtOnce);
    private readonly Lock _lock = new();
    private readonly Dictionary<string, (long Version, long Used, CommandAnswer Answer)> _kept = [];
    private long _uses;
    private int _waiting;

    /// <summary>Makes it for a library.</summary>
    public CommandRuns(string library, ILogger logger) => (_library, _logger) = (library, logger);

    /// <summary>Answers a call of a command.</summary>
    /// <param name="command">The command.</param>
    /// <param name="words">The words after it, without <c>--library</c> and <c>--json</c>.</param>
    /// <param name="version">The library's version that the answer holds for; null for one that is not to be remembered.</param>
    /// <param name="stop">Ends the command: whoever asked has gone.</param>
    /// <returns>Null where too many are under way.</returns>
    public async Task<CommandAnswer?> Run(string command, IReadOnlyList<string> words, long? version, CancellationToken stop)
    {
        string key = command + '\0' + string.Join('\0', words);
        if (version is { } of && Remembered(key, of) is { } known) return known;
        if (Interlocked.Increment(ref _waiting) > AtOnce + MostWaiting)
        {
            Interlocked.Decrement(ref _waiting);
            return null;
        }

        try
        {
            await _places.WaitAsync(stop);
            try
            {
                CommandAnswer answer = await Ask(command, words, stop);
                if (version is { } asked && answer.Code != Commands.ExitCode.Failed) Remember(key, asked, answer);
                return answer;
            }
            finally
            {
                _places.Release();
            }
        }
        finally
        {
            Interlocked.Decrement(ref _waiting);
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _places.Dispose();

    private async Task<CommandAnswer> Ask(string command, IReadOnlyList<string> words, CancellationToken stop)
    {
        Directory.CreateDirectory(_library);
        using Process process = OwnProcess.Start([command, "--library", _library, "--json", .. words], _library);
        process.StandardInput.Close();
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(stop);
        limit.CancelAfter(Longest);
        try
        {
            Task<byte[]> answer = All(process.StandardOutput.BaseStream, MostAnswerBytes, limit.Token);
            Task<byte[]> errors = All(process.StandardError.BaseStream, MostProblemChars, limit.Token);
            await Task.WhenAll(answer, errors);
            await process.WaitForExitAsync(limit.Token);
            return new CommandAnswer(process.ExitCode, await answer, Problems(command, System.Text.Encoding.UTF8.GetString(await errors)));
        }
        catch (Exception e) when (e is OperationCanceledException or InvalidDataException && !stop.IsCancellationRequested)
        {
            string why = e is InvalidDataException ? "its answer is too long" : $"it took longer than {Longest.TotalMinutes:0} minutes";
            _logger.LogWarning("A page asked for {Command}, and {Why}", command, why);
            return new CommandAnswer(Commands.ExitCode.Failed, [], [$"{command}: {why}; ask for fewer runs, or use the command line"]);
        }
        finally
        {
            OwnProcess.Kill(process);
            process.StandardOutput.Dispose(); // the process leaves them open
            process.StandardError.Dispose();
        }
    }

    private static async Task<byte[]> All(Stream from, int most, CancellationToken stop)
    {
        using var all = new MemoryStream();
        byte[] part = new byte[16 << 10];
        for (int got = await from.ReadAsync(part, stop); got > 0; got = await from.ReadAsync(part, stop))
        {
            if (all.Length + got > most) throw new InvalidDataException();
            all.Write(part, 0, got);
        }

        return all.ToArray();
    }

    private static string[] Problems(string command, string errors)
    {
        string before = $"acquire {command}: ";
        return
        [
            .. errors.Split('\n').Select(l => l.TrimEnd('\r')).Where(l => l.Length > 0 && !l.StartsWith("See acquire ", StringComparison.Ordinal))
                .Select(l => l.StartsWith(before, StringComparison.Ordinal) ? l[before.Length..] : l),
        ];
    }

    private CommandAnswer? Remembered(string key, long version)
    {
        lock (_lock)
        {
            if (!_kept.TryGetValue(key, out (long Version, long Used, CommandAnswer Answer) kept) || kept.Version != version) return null;
            _kept[key] = kept with { Used = ++_uses };
            return kept.Answer;
        }
    }

    private void Remember(string key, long version, CommandAnswer answer)
    {
        if (answer.Json.Length > MostKeptBytes) return;
        lock (_lock)
        {
            foreach (string old in _kept.Where(k => k.Value.Version != version).Select(k => k.Key).ToArray()) _kept.Remove(old);
            if (_kept.Count >= MostKept) _kept.Remove(_kept.MinBy(k => k.Value.Used).Key);
            _kept[key] = (version, ++_uses, answer);
        }
    }
}
