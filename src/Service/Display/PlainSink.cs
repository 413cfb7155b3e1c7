using System.Globalization;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Display;

namespace Acquire.Service.Display;

/// <summary>Writes log lines to a stream that is no terminal, or one that cannot move its cursor.</summary>
/// <param name="writer">The stream.</param>
/// <param name="toJournal">True where systemd's journal reads the stream: it has times of its own, and takes the level from the number before the line, sd-daemon(3).</param>
internal sealed class PlainSink(TextWriter writer, bool toJournal = false) : ILogEventSink
{
    /// <summary>How a line of the log looks.</summary>
    public static readonly MessageTemplateTextFormatter Lines = new(
        "{Timestamp:yyyy-MM-dd HH:mm:ss} {Level:w} {Message:lj}{NewLine}{Exception}", CultureInfo.InvariantCulture);

    private static readonly MessageTemplateTextFormatter Bare = new("{Message:lj}{NewLine}{Exception}", CultureInfo.InvariantCulture);

    /// <inheritdoc/>
    public void Emit(LogEvent logEvent)
    {
        lock (writer)
        {
            if (toJournal) WriteToJournal(logEvent);
            else Lines.Format(logEvent, writer);
        }
    }

    // Each line by itself, or the journal would take the lines of an exception for information.
    private void WriteToJournal(LogEvent logEvent)
    {
        using var text = new StringWriter(CultureInfo.InvariantCulture);
        Bare.Format(logEvent, text);
        foreach (string line in text.ToString().Split('\n', StringSplitOptions.RemoveEmptyEntries))
            writer.Write($"<{Priority(logEvent.Level)}>{line.TrimEnd('\r')}\n");
    }

    private static int Priority(LogEventLevel level) => level switch
    {
        LogEventLevel.Fatal => 2,
        LogEventLevel.Error => 3,
        LogEventLevel.Warning => 4,
        LogEventLevel.Information => 6,
        _ => 7,
    };
}
