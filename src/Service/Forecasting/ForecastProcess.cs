using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Serialization;
using Acquire.Recording;

namespace Acquire.Service.Forecasting;

/// <summary>Forecasts the spin under way in a process of its own: the question is one JSON document on its standard input, the answer one on its standard output.
/// A capture stays small by it, whatever the forecast takes.</summary>
internal static class ForecastProcess
{
    private const int LongestMs = 120_000;

    /// <summary>The option of <c>acquire forecast</c> that answers; no one else is to use it, so it is not in the help.</summary>
    public const string Option = "--asked-by-capture";

    /// <summary>Asks.</summary>
    /// <param name="library">The library with the earlier spins.</param>
    /// <param name="spin">The spin so far.</param>
    /// <param name="stop">Ends it.</param>
    /// <returns>The forecast; null where too little was seen.</returns>
    /// <exception cref="InvalidOperationException">There was no answer; says why.</exception>
    public static LiveForecast? Of(string library, SpinSoFar spin, CancellationToken stop)
    {
        var question = new SpinQuestion(library, spin);
        string answer = OwnProcess.Run(["forecast", Option], to => JsonSerializer.Serialize(to, question, ForecastJson.Default.SpinQuestion), LongestMs, stop, ProcessPriorityClass.Idle);
        try
        {
            return JsonSerializer.Deserialize(answer, ForecastJson.Default.LiveForecast);
        }
        catch (JsonException e)
        {
            throw new InvalidOperationException($"its answer is none: {e.Message}", e);
        }
    }

    /// <summary>Answers.</summary>
    /// <param name="question">Where the question is read from.</param>
    /// <param name="answer">Where the answer goes.</param>
    /// <exception cref="RunFormatException">The question is none.</exception>
    public static void Answer(TextReader question, TextWriter answer)
    {
        SpinQuestion? asked;
        try
        {
            asked = JsonSerializer.Deserialize(question.ReadToEnd(), ForecastJson.Default.SpinQuestion);
        }
        catch (JsonException e)
        {
            throw new RunFormatException("standard input", $"line {1 + e.LineNumber}", "no JSON", "a spin's times and turns, its set-up and a library", e);
        }

        if (asked is not { Library: not null, Spin: { TimeS.Length: > 0, Setup: not null, Turns: not null } spin } || spin.Turns.Length != spin.TimeS.Length)
            throw new RunFormatException("standard input", "", "a question without its parts", "a spin's times and as many turns, its set-up and a library");
        LiveForecast? found = LiveForecaster.Of(
            spin, EarlierRuns.Ends(asked.Library, spin.Setup.Top, DateTimeOffset.MaxValue), now => EarlierRuns.Spins(asked.Library, spin.Setup, DateTimeOffset.MaxValue, now));
        answer.WriteLine(found is null ? "null" : JsonSerializer.Serialize(found, ForecastJson.Default.LiveForecast));
        answer.Flush();
    }
}

/// <summary>What a capture asks.</summary>
/// <param name="Library">Where the earlier spins are.</param>
/// <param name="Spin">The spin under way.</param>
internal sealed record SpinQuestion(string Library, SpinSoFar Spin);

/// <summary>JSON of question and answer.</summary>
[JsonSerializable(typeof(SpinQuestion))]
[JsonSerializable(typeof(LiveForecast))]
internal sealed partial class ForecastJson : JsonSerializerContext;
