namespace Acquire.Acquisition.Serial;

/// <summary>An open serial port. Its name is the port's path and what opened it.</summary>
public interface ISerialLink : ISourceLink
{
    /// <summary>Sends all of <paramref name="bytes"/>; for any thread.</summary>
    /// <returns>False where the link is gone or took none of them for a fifth of a second.</returns>
    bool Write(ReadOnlySpan<byte> bytes);
}
