namespace Acquire.Conditioning;

/// <summary>What a pulse was judged to be.</summary>
public enum PulseKind : byte
{
    /// <summary>A mark passed the sensor.</summary>
    Mark,

    /// <summary>No mark: glint, bounce, lamp.</summary>
    Extra,
}

/// <summary>A pulse with its judgement.</summary>
/// <param name="Ticks">The source's counter at the leading edge, unwrapped.</param>
/// <param name="WidthTicks">Ticks to the trailing edge; 0 where the source gives none.</param>
/// <param name="Kind">Mark or extra.</param>
/// <param name="Mark">Which mark of the turn, from 0; −1 for an extra.</param>
/// <param name="Turns">Whole and part turns since the first pulse of the run; for a mark its place on the body, for an
/// extra the predicted angle at that moment.</param>
public readonly record struct JudgedPulse(long Ticks, uint WidthTicks, PulseKind Kind, short Mark, double Turns);
