using System.Net.ServerSentEvents;

namespace Acquire.Page.Tests;

/// <summary>A page that listens to the stream.</summary>
internal static class EventReader
{
    /// <summary>The events of a stream, as they come.</summary>
    public static async IAsyncEnumerable<SseItem<string>> Listen(HttpClient client, string? lastId, [System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken stop)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri("/api/live/events", UriKind.Relative));
        if (lastId is not null) request.Headers.Add("Last-Event-ID", lastId);
        using HttpResponseMessage answer = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, stop);
        answer.EnsureSuccessStatusCode();
        await using Stream stream = await answer.Content.ReadAsStreamAsync(stop);
        await foreach (SseItem<string> item in SseParser.Create(stream).EnumerateAsync(stop)) yield return item;
    }

    /// <summary>Events until one is as asked for, that one the last.</summary>
    public static async Task<List<SseItem<string>>> Until(HttpClient client, string? lastId, Func<SseItem<string>, bool> last, CancellationToken stop)
    {
        var all = new List<SseItem<string>>();
        await foreach (SseItem<string> item in Listen(client, lastId, stop))
        {
            all.Add(item);
            if (last(item)) break;
        }

        return all;
    }
}
