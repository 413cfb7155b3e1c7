using System.Globalization;
using System.Text.Json;
using Acquire.Results.Forecasting;
using Acquire.Service.Capture;
using Acquire.Service.Commands;
using Acquire.Service.Display;

namespace Acquire.Service.Forecasting;

/// <summary><c>acquire forecast --live</c>: asks the running capture when its spin will end; on a terminal again and again until it has.</summary>
internal sealed class LiveAnswer(Surroundings surroundings, string library, EndSpeed? end)
{
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(1);

    /// <summary>Answers.</summary>
    /// <param name="json">As one JSON document.</param>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public int Run(bool json)
    {
        if (Ask(out string problem) is not { } now) return Say(problem);
        if (json)
        {
            JsonAnswer.Write(surroundings.Out, writer => Write(writer, now));
            return ExitCode.Done;
        }

        if (surroundings.OutIsTerminal && surroundings.ErrorIsTerminal) now = Follow(now);
        surroundings.Out.WriteLine(Text(now));
        surroundings.Out.Flush();
        return ExitCode.Done;
    }

    private LiveForecast Follow(LiveForecast now)
    {
        var line = new LiveLine(surroundings);
        do line.Show(() => Text(now));
        while (!surroundings.Stop.WaitHandle.WaitOne(Every) && Again(ref now));
        line.Clear();
        return now;
    }

    private bool Again(ref LiveForecast now)
    {
        if (Ask(out _) is not { } next) return false;
        now = next;
        return true;
    }

    private LiveForecast? Ask(out string problem)
    {
        CaptureStatus? status = StatusCommand.Ask(library, surroundings, out string? failure);
        problem = failure
            ?? (status is not { Running: true, Capture: { } capture } ? status!.Problems[0]
            : capture.Phase is not ("spinning" or "lost") ? $"nothing spins now: the capture in {library} is {capture.Phase}"
            : "too little of the spin was seen yet; the first forecast comes some 20 s after the release");
        LiveForecast? found = status?.Capture?.Forecast;
        if (found is null || end is null) return found;
        problem = string.Create(CultureInfo.InvariantCulture, $"an end at {end.Rpm:0} rpm is too near the speed now or too far below where spins end");
        return found.Ending(end);
    }

    private int Say(string problem)
    {
        surroundings.Error.WriteLine("acquire forecast: " + problem);
        return ExitCode.No;
    }

    private static string Text(LiveForecast now) =>
        $"{Numbers.Clock(now.AtS)} since the release; ends in {LiveWords.Ends(now)}; spin time {Numbers.Clock(now.AtS + now.RemainingS)}";

    private static void Write(Utf8JsonWriter writer, LiveForecast now)
    {
        writer.WriteStartObject();
        writer.WriteNumber("atS", now.AtS);
        writer.WriteNumber("remainingS", now.RemainingS);
        writer.WriteNumber("lowS", now.LowS);
        writer.WriteNumber("highS", now.HighS);
        writer.WriteNumber("endRpm", now.EndRpm);
        writer.WriteString("endFrom", now.EndFrom);
        writer.WriteEndObject();
    }
}
