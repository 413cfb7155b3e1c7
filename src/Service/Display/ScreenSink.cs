using System.Globalization;
using Serilog.Core;
using Serilog.Events;
using Spectre.Console;

namespace Acquire.Service.Display;

/// <summary>Writes log lines through the console that the live display uses, so that they go above it and not into it.</summary>
internal sealed class ScreenSink(IAnsiConsole console) : ILogEventSink
{
    /// <inheritdoc/>
    public void Emit(LogEvent logEvent)
    {
        (string word, string style) = logEvent.Level switch
        {
            LogEventLevel.Fatal or LogEventLevel.Error => ("error", "red"),
            LogEventLevel.Warning => ("warning", "yellow"),
            _ => ("", "default"),
        };
        string time = logEvent.Timestamp.ToString("HH:mm:ss", CultureInfo.InvariantCulture);
        string text = logEvent.RenderMessage(CultureInfo.InvariantCulture);
        if (logEvent.Exception is { } e) text += ": " + e.Message;
        console.MarkupLine($"[grey]{time}[/] [{style}]{word}{(word.Length > 0 ? " " : "")}[/]{Markup.Escape(text)}");
    }
}
