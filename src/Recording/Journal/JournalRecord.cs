using System.Text.Json;
using Acquire.Acquisition;

namespace Acquire.Recording;

/// <summary>One whole record of a journal.</summary>
public readonly ref struct JournalRecord
{
    private readonly string _path;

    internal JournalRecord(string path, JournalEntryKind kind, long hostNs, long position, ReadOnlySpan<byte> payload)
    {
        _path = path;
        Kind = kind;
        HostNs = hostNs;
        Position = position;
        Payload = payload;
    }

    /// <summary>What it holds. A kind that this version does not know is to be passed over.</summary>
    public JournalEntryKind Kind { get; }

    /// <summary>When it happened, nanoseconds of the host's monotonic clock.</summary>
    public long HostNs { get; }

    /// <summary>Where in the file the record begins, bytes.</summary>
    public long Position { get; }

    /// <summary>The payload; valid until the next call on the reader.</summary>
    public ReadOnlySpan<byte> Payload { get; }

    /// <summary>True where it is a block of a source.</summary>
    public bool IsBlock => Kind is >= JournalEntryKind.Bytes and <= JournalEntryKind.LinkBack;

    /// <summary>The block of a source that it holds.</summary>
    /// <exception cref="InvalidOperationException">It is none: ask <see cref="IsBlock"/> first.</exception>
    public SourceBlock Block => IsBlock
        ? new SourceBlock((SourceBlockKind)Kind, HostNs, Payload)
        : throw new InvalidOperationException($"A record of kind {Kind} is no block of a source.");

    /// <summary>The JSON payload.</summary>
    /// <typeparam name="T">The record that belongs to <see cref="Kind"/>.</typeparam>
    /// <exception cref="RunFormatException">The payload is no such record.</exception>
    public T Entry<T>()
        where T : class
    {
        Exception? inner = null;
        try
        {
            if (JsonSerializer.Deserialize(Payload, JournalJson.Of<T>()) is { } entry)
                return entry;
        }
        catch (JsonException e)
        {
            inner = e;
        }

        throw new RunFormatException(_path, $"byte {Position}", $"a record of kind {Kind} that is no {typeof(T).Name}", typeof(T).Name, inner);
    }
}
