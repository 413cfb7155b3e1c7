using System.Globalization;

namespace Acquire.Benchmarks;

/// <summary>Processor time of this process by the names of its threads, from /proc (schedstat: nanoseconds on a processor).</summary>
internal sealed class ThreadTimes
{
    private readonly Dictionary<int, (string Name, long Ns)> _threads = [];

    private ThreadTimes()
    {
    }

    internal static ThreadTimes Now()
    {
        var now = new ThreadTimes();
        foreach (string folder in Directory.GetDirectories("/proc/self/task"))
        {
            try
            {
                string name = File.ReadAllText(Path.Combine(folder, "comm")).TrimEnd('\n');
                string[] figures = File.ReadAllText(Path.Combine(folder, "schedstat")).Split(' ');
                int id = int.Parse(Path.GetFileName(folder), CultureInfo.InvariantCulture);
                now._threads[id] = (name, long.Parse(figures[0], CultureInfo.InvariantCulture));
            }
            catch (IOException)
            {
                // The thread ended while it was looked at.
            }
        }

        return now;
    }

    /// <summary>Seconds that the calling thread had since it began.</summary>
    internal static double OfThisThreadS() =>
        long.Parse(File.ReadAllText("/proc/thread-self/schedstat").Split(' ')[0], CultureInfo.InvariantCulture) * 1e-9;

    /// <summary>Seconds since <paramref name="earlier"/> of the threads whose name begins with <paramref name="name"/>.</summary>
    internal double SecondsSince(ThreadTimes earlier, string name = "")
    {
        long ns = 0;
        foreach ((int id, (string thread, long now)) in _threads)
        {
            if (thread.StartsWith(name, StringComparison.Ordinal))
                ns += now - (earlier._threads.TryGetValue(id, out var before) ? before.Ns : 0);
        }

        return ns * 1e-9;
    }
}
