namespace Acquire.Service.Reports;

/// <summary>Makes a run's page in a process of its own, so that neither its memory nor its time nor a fault of the drawing library's machine code is the recorder's.</summary>
internal static class ReportProcess
{
    private const int LongestMs = 180_000;

    /// <summary>Makes the page.</summary>
    /// <param name="folder">The run's folder.</param>
    /// <param name="stop">Ends the process where it is too slow for a capture that ends.</param>
    /// <exception cref="InvalidOperationException">It could not be made; says why.</exception>
    public static void Write(string folder, CancellationToken stop) =>
        OwnProcess.Run(["show", folder, "--library", Path.GetDirectoryName(folder)!, "--report"], null, LongestMs, stop);
}
