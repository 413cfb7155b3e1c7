using Microsoft.Extensions.Logging;

namespace Acquire.Service.Tests;

/// <summary>A log that keeps its lines.</summary>
internal sealed class KeptLog : ILogger
{
    public List<string> Lines { get; } = [];

    public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => true;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
    {
        lock (Lines) Lines.Add($"{logLevel} {formatter(state, exception)}");
    }
}
