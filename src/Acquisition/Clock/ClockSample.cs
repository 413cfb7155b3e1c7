namespace Acquire.Acquisition.Clock;

/// <summary>A moment on both clocks, each counted from the start of its segment.</summary>
/// <param name="BoardS">Board's clock at its nominal rate, s.</param>
/// <param name="HostS">Host's clock, s.</param>
/// <param name="DelayS">Delay of a question and its answer together, s; 0 for a line that came by itself.</param>
/// <param name="Segment">Number of the segment.</param>
internal readonly record struct ClockSample(double BoardS, double HostS, double DelayS, int Segment);
