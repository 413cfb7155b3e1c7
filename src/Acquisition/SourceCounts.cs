namespace Acquire.Acquisition;

/// <summary>Totals of what a source delivered and of every loss that is known of.</summary>
/// <param name="Received">Pulses received.</param>
/// <param name="BadLines">Lines whose check failed, that were too long or made no sense.</param>
/// <param name="LostOnLine">Pulses sent that did not arrive, from gaps in the sequence numbers; with those sent while the link was away, where the board
/// went on.</param>
/// <param name="DroppedByBoard">Pulses that the board saw and could not queue, as the board counts them.</param>
/// <param name="Restarts">Times the board started anew.</param>
/// <param name="BytesLost">Bytes that the host read and had no room for.</param>
public readonly record struct SourceCounts(
    long Received, long BadLines, long LostOnLine, long DroppedByBoard, long Restarts, long BytesLost)
{
    /// <summary>What was added since <paramref name="earlier"/>.</summary>
    public SourceCounts Since(SourceCounts earlier) => new(
        Received - earlier.Received, BadLines - earlier.BadLines, LostOnLine - earlier.LostOnLine,
        DroppedByBoard - earlier.DroppedByBoard, Restarts - earlier.Restarts, BytesLost - earlier.BytesLost);
}
