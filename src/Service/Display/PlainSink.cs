using System.Globalization;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Display;

namespace Acquire.Service.Display;

/// <summary>Writes log lines to a stream that is no terminal, or one that cannot move its cursor.</summary>
internal sealed class PlainSink(TextWriter writer) : ILogEventSink
{
    /// <summary>How a line of the log looks.</summary>
    public static readonly MessageTemplateTextFormatter Lines = new(
        "{Timestamp:yyyy-MM-dd HH:mm:ss} {Level:w} {Message:lj}{NewLine}{Exception}", CultureInfo.InvariantCulture);

    /// <inheritdoc/>
    public void Emit(LogEvent logEvent)
    {
        lock (writer)
        {
            Lines.Format(logEvent, writer);
        }
    }
}
