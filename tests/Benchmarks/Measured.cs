namespace Acquire.Benchmarks;

/// <summary>One measurement of a way from bytes to pulses; times in seconds, processor times of threads.</summary>
/// <param name="ElapsedS">From the first byte written to the last pulse there.</param>
/// <param name="Pulses">Pulses sent.</param>
/// <param name="Bytes">Bytes sent.</param>
internal sealed record Measured(double ElapsedS, int Pulses, long Bytes)
{
    internal long Lost { get; init; }

    internal double BoardS { get; init; }

    internal double ReaderS { get; init; }

    internal double CaptureS { get; init; }

    internal double JournalS { get; init; }

    internal double OtherS { get; init; }

    /// <summary>Relative error of the live speed at the end; NaN where there is none.</summary>
    internal double SpeedError { get; init; } = double.NaN;

    /// <summary>How long after the last pulse was judged the journal's file held everything.</summary>
    internal double JournalLagS { get; init; } = double.NaN;

    /// <summary>From the order to stop to the package in the library.</summary>
    internal double PackageS { get; init; } = double.NaN;

    internal double PulsesPerS => Pulses / ElapsedS;

    /// <summary>The one in the middle by rate.</summary>
    internal static Measured Median(IEnumerable<Measured> all)
    {
        Measured[] sorted = [.. all.OrderBy(m => m.PulsesPerS)];
        return sorted[sorted.Length / 2];
    }
}
