using System.Globalization;
using System.Text.Json;
using Acquire.Recording;

namespace Acquire.Service.Commands;

/// <summary>A list of runs as JSON.</summary>
internal static class RunsJson
{
    /// <summary>Writes it.</summary>
    public static void Write(Utf8JsonWriter writer, IEnumerable<(string Name, RunDescriptor Descriptor)> runs)
    {
        writer.WriteStartObject();
        writer.WriteStartArray("runs");
        foreach ((string name, RunDescriptor run) in runs)
        {
            writer.WriteStartObject();
            WriteMembers(writer, name, run);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
        writer.WriteEndObject();
    }

    /// <summary>Writes what the list says of a run, into an object that is begun.</summary>
    public static void WriteMembers(Utf8JsonWriter writer, string name, RunDescriptor run)
    {
        writer.WriteString("run", name);
        writer.WriteString("startedAt", run.StartedAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture));
        writer.WriteString("top", run.Setup.Top);
        writer.WriteString("base", run.Setup.Base);
        writer.WriteString("cover", run.Setup.Cover);
        writer.WriteStartObject("factors");
        foreach ((string factor, double value) in run.Setup.Factors) writer.WriteNumber(factor, value, orNull: true);
        writer.WriteEndObject();
        writer.WriteNumber("spinTimeS", run.Result.SpinTimeS, orNull: true);
        writer.WriteNumber("peakRpm", run.Result.PeakRpm, orNull: true);
        writer.WriteString("endReason", run.EndReason);
    }
}
