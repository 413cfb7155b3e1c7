using System.Globalization;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Display;

namespace Acquire.Service.Capture;

/// <summary>Keeps the last warning or error of the log.</summary>
internal sealed class LastErrorSink : ILogEventSink
{
    private const int LongestText = 1000;
    private static readonly MessageTemplateTextFormatter Words = new("{Message:lj}", CultureInfo.InvariantCulture);
    private LoggedError? _last;

    /// <summary>The last one, or null. Safe to read from any thread.</summary>
    public LoggedError? Last => Volatile.Read(ref _last);

    /// <inheritdoc/>
    public void Emit(LogEvent logEvent)
    {
        if (logEvent.Level < LogEventLevel.Warning)
            return;
        using var words = new StringWriter(CultureInfo.InvariantCulture);
        Words.Format(logEvent, words);
        string text = words.ToString();
        if (logEvent.Exception is { } fault)
            text += ": " + fault.Message;
        string shortened = text.Length > LongestText ? text[..LongestText] + "…" : text;
        Volatile.Write(ref _last, new LoggedError(logEvent.Timestamp.ToUniversalTime(), logEvent.Level == LogEventLevel.Warning ? "warning" : "error", shortened));
    }
}
