using System.Net.Sockets;
using System.Text.Json;
using Acquire.Recording;
using Xunit;

namespace Acquire.EndToEnd.Tests;

public sealed class StatusFloodTests
{
    [Fact]
    public async Task Those_who_flood_the_status_socket_or_hang_at_it_cost_the_recorder_nothing()
    {
        using var bench = new Bench();
        using Started board = Started.Player("--link", bench.Port, "--speed", "10", "--minutes", "1", "--misses", "0", "--glints", "0");
        await bench.PortIsThere();
        using Started capture = Started.Acquire("capture", "--port", bench.Port, "--once", "--time-scale", "10", "--library", bench.Library);
        await capture.Said("spinning", 30);
        using var over = new CancellationTokenSource();
        int asked = 0;
        Thread[] flood = [.. Enumerable.Range(0, 3).Select(_ => new Thread(() => Flood(Path.Combine(bench.Library, ".open", "status.sock"), ref asked, over.Token)))];
        Array.ForEach(flood, f => f.Start());
        using (Started status = Started.Acquire("status", "--library", bench.Library))
            Assert.Equal(0, status.Wait(20));
        Assert.Equal(0, capture.Wait(90));
        await over.CancelAsync();
        Array.ForEach(flood, f => f.Join());

        RunDescriptor found = RunPackageReader.ReadDescriptor(bench.OnlyRun());
        Assert.Equal(0, board.Wait(30));
        JsonElement truth = JsonDocument.Parse(board.Output).RootElement;
        Assert.Equal(truth.GetProperty("marksSeen").GetInt64(), found.Counts.Marks);
        Assert.Equal((0, 0, 0), (found.Counts.Missed, found.Counts.BadLines, found.Counts.LostOnLine));
        Assert.True(asked > 100, $"only {asked} connections were made");
    }

    private static void Flood(string path, ref int asked, CancellationToken over)
    {
        var hanging = new Queue<Socket>();
        while (!over.IsCancellationRequested)
        {
            var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified) { SendTimeout = 100 };
            hanging.Enqueue(socket);
            try
            {
                socket.Connect(new UnixDomainSocketEndPoint(path));
                socket.Send(new byte[100_000]);
                Interlocked.Increment(ref asked);
            }
            catch (SocketException)
            {
                over.WaitHandle.WaitOne(1); // turned away, or the capture has ended
            }

            if (hanging.Count > 50)
                hanging.Dequeue().Dispose();
        }

        while (hanging.TryDequeue(out Socket? left))
            left.Dispose();
    }
}
