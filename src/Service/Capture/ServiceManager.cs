using System.Globalization;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Hosting.Systemd;

namespace Acquire.Service.Capture;

/// <summary>What the manager that started the program as a service expects of it: on Linux by the protocol of sd_notify(3), on Windows as a
/// service of Windows. Where there is no manager nothing changes.</summary>
internal static class ServiceManager
{
    /// <summary>The name of the Windows service.</summary>
    public const string ServiceName = "acquire";

    /// <summary>Has the host tell the manager when it is ready and when it stops. The socket's variable decides, not which program the parent
    /// is: that is the protocol, and other managers speak it too.</summary>
    public static void Join(IServiceCollection services, Surroundings surroundings)
    {
        if (OperatingSystem.IsWindows())
        {
            services.AddWindowsService(o => o.ServiceName = ServiceName);
        }
        else if (surroundings.Variable("NOTIFY_SOCKET") is not null)
        {
            services.AddSingleton<ISystemdNotifier, SystemdNotifier>();
            services.AddSingleton<IHostLifetime, SystemdLifetime>();
        }
    }

    /// <summary>True where systemd's journal reads standard error. JOURNAL_STREAM alone does not say so: a terminal that is itself a service hands it on
    /// to what runs in it, so the inode is held against that of the stream, systemd.exec(5).</summary>
    public static bool ReadsErrors(Surroundings surroundings)
    {
        if (!OperatingSystem.IsLinux() || surroundings.Variable("JOURNAL_STREAM")?.Split(':') is not [_, { Length: > 0 } inode])
            return false;
        string? stream = new FileInfo("/proc/self/fd/2").LinkTarget;
        return stream is not null && stream.EndsWith($":[{inode}]", StringComparison.Ordinal);
    }

    /// <summary>How often the manager wants a sign of life at the least, from sd_watchdog_enabled(3); null where it wants none, or not from this process.</summary>
    public static TimeSpan? WatchdogLimit(Surroundings surroundings)
    {
        if (!long.TryParse(surroundings.Variable("WATCHDOG_USEC"), NumberStyles.None, CultureInfo.InvariantCulture, out long microseconds) || microseconds < 1)
            return null;
        string self = Environment.ProcessId.ToString(CultureInfo.InvariantCulture);
        if (surroundings.Variable("WATCHDOG_PID") is { } process && process != self)
            return null;
        return TimeSpan.FromMicroseconds(Math.Min(microseconds, TimeSpan.MaxValue.Ticks / TimeSpan.TicksPerMicrosecond));
    }
}
