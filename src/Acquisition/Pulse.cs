namespace Acquire.Acquisition;

/// <summary>An edge that the source saw; whether it is a mark is judged later.</summary>
/// <param name="Ticks">The source's own counter at the leading edge, unwrapped to 64 bits; never falls but where lines cross.</param>
/// <param name="WidthTicks">Ticks from the leading to the trailing edge; 0 where the source gives none.</param>
/// <param name="Sequence">The number that the source gave the pulse, modulo 256; −1 where it gives none.</param>
public readonly record struct Pulse(long Ticks, uint WidthTicks, short Sequence);
