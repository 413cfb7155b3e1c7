using Acquire.Motion;
using Acquire.Recording;

namespace Acquire.Service.Runs;

/// <summary>A finished run, read for its results; the pulses only where they are asked for.</summary>
internal sealed class RunData
{
    private RunData(string folder)
    {
        Folder = folder;
        Name = Path.GetFileName(folder);
        Descriptor = RunPackageReader.ReadDescriptor(folder);
        Speed = RunPackageReader.ReadSpeed(folder);
        Events = RunPackageReader.ReadEvents(folder);
        Environment = RunPackageReader.ReadEnvironment(folder);
    }

    /// <summary>Name of its folder.</summary>
    public string Name { get; }

    /// <summary>Full path of its folder.</summary>
    public string Folder { get; }

    /// <summary>Its descriptor.</summary>
    public RunDescriptor Descriptor { get; }

    /// <summary>The rows of speed.csv.</summary>
    public IReadOnlyList<SpeedPoint> Speed { get; }

    /// <summary>The rows of events.csv.</summary>
    public IReadOnlyList<RunEvent> Events { get; }

    /// <summary>The rows of environment.csv; none where the air was not measured.</summary>
    public IReadOnlyList<EnvironmentPoint> Environment { get; }

    /// <summary>Whether the run has marks; one imported as speed against time has none.</summary>
    public bool HasMarks => Descriptor.Counts.Marks > 0;

    /// <summary>When the hand let go, seconds since the first pulse; of a run that does not say, its first row.</summary>
    public double ReleaseS => double.IsFinite(Descriptor.Result.ReleaseS) ? Descriptor.Result.ReleaseS : Speed.Count > 0 ? Speed[0].TimeS : 0;

    /// <summary>Reads a run.</summary>
    /// <exception cref="RunFormatException">A file is missing or not as the format says.</exception>
    public static RunData Read(string folder) => new(folder);

    /// <summary>Reads pulses.csv.</summary>
    /// <exception cref="RunFormatException">Missing, or a row is not as the format says.</exception>
    public RunPulses ReadPulses() => RunPackageReader.ReadPulses(Folder);
}
