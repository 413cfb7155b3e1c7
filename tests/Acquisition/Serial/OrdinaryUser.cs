using System.Runtime.InteropServices;

namespace Acquire.Acquisition.Tests.Serial;

/// <summary>Lets one thread of a test that runs as root meet files as an ordinary user does.</summary>
internal static partial class OrdinaryUser
{
    private const uint Nobody = 65534;

    /// <summary>For this thread alone and for good; changes nothing where the test does not run as root.</summary>
    internal static void BecomeOnThisThread()
    {
        if (Environment.IsPrivilegedProcess)
            _ = setfsuid(Nobody);
    }

    [LibraryImport("libc")]
    private static partial int setfsuid(uint user);
}
