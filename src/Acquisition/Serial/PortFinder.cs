namespace Acquire.Acquisition.Serial;

/// <summary>Says under which path a port is to be opened next. A USB adapter that was unplugged may come back under another number, and
/// another adapter under its old one; the name that the system makes from the device itself stays (on Linux a link in
/// <c>/dev/serial/by-id</c>, made by udev).</summary>
/// <param name="port">The port as given.</param>
/// <param name="namedPorts">The folder of such links; it need not be there.</param>
internal sealed class PortFinder(string port, string namedPorts)
{
    /// <summary>So many attempts wait for the device that was open; then whatever has the given name is taken.</summary>
    internal const int AttemptsForTheSame = 6;

    private string? _same;
    private int _attempts;

    /// <summary>The path to try now.</summary>
    public string Next()
    {
        if (_same is null)
            return port;
        if (File.Exists(_same))
            return SerialLinks.RealPath(_same) == SerialLinks.RealPath(port) ? port : _same;
        return ++_attempts > AttemptsForTheSame && File.Exists(port) ? port : _same;
    }

    /// <summary>Notes which device it was that could be opened.</summary>
    /// <param name="opened">The path under which it was.</param>
    public void Opened(string opened)
    {
        _attempts = 0;
        string real = SerialLinks.RealPath(opened);
        _same = Directory.Exists(namedPorts)
            ? Directory.EnumerateFileSystemEntries(namedPorts).Order(StringComparer.Ordinal).FirstOrDefault(l => SerialLinks.RealPath(l) == real)
            : null;
    }
}
