using System.Globalization;
using System.Security.Cryptography;

namespace Acquire.Service.Page;

/// <summary>An event that those who were away are told of when they come back.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Kind">Its name in the stream.</param>
/// <param name="Json">What it says.</param>
internal readonly record struct KeptEvent(long Number, string Kind, string Json);

/// <summary>The last events, bounded. Safe for use from several threads.</summary>
internal sealed class EventRing
{
    /// <summary>How many are kept.</summary>
    public const int Most = 500;

    private readonly Lock _lock = new();
    private readonly KeptEvent[] _kept = new KeptEvent[Most];
    private readonly string _era = Convert.ToHexString(RandomNumberGenerator.GetBytes(4)); // numbers of another run of the program mean nothing here
    private long _last;

    /// <summary>Number of the last; 0 before the first.</summary>
    public long Last
    {
        get
        {
            lock (_lock) return _last;
        }
    }

    /// <summary>Keeps an event.</summary>
    public void Add(string kind, string json)
    {
        lock (_lock)
        {
            _last++;
            _kept[_last % Most] = new KeptEvent(_last, kind, json);
        }
    }

    /// <summary>The id under which an event goes out.</summary>
    public string Id(long number) => string.Create(CultureInfo.InvariantCulture, $"{_era}-{number}");

    /// <summary>Number of an id that a client gives back; null where it is none of this ring's.</summary>
    public long? Number(string? id) =>
        id is { Length: < 40 } && id.StartsWith(_era + "-", StringComparison.Ordinal)
        && long.TryParse(id.AsSpan(_era.Length + 1), NumberStyles.None, CultureInfo.InvariantCulture, out long number) && number <= Last ? number : null;

    /// <summary>The events after one, oldest first; null where some of them are not kept any more.</summary>
    public IReadOnlyList<KeptEvent>? After(long number)
    {
        lock (_lock)
        {
            if (number < _last - Most) return null;
            return [.. Enumerable.Range(0, (int)(_last - number)).Select(i => _kept[(number + 1 + i) % Most])];
        }
    }
}
