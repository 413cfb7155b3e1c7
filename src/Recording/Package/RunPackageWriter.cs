using System.Runtime.InteropServices;
using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Recording;

/// <summary>Writes a finished run into a library as a Data Package of CSV files. A run shows under its name only when all of it
/// is on the disk: it is written in a folder whose name begins with a dot, every file synced, then renamed.</summary>
public static class RunPackageWriter
{
    /// <summary>How the names of folders begin in which a run is being written.</summary>
    public const string UnfinishedPrefix = ".writing-";

    private const int RowsPerBlock = 16 << 10;

    /// <summary>Writes the run.</summary>
    /// <param name="libraryFolder">The library; made where there is none.</param>
    /// <param name="run">The run.</param>
    /// <param name="time">Gives the time of writing; the system's where null.</param>
    /// <returns>Full path of the run's folder. A second run of the same name gets <c>-2</c> and so on.</returns>
    /// <exception cref="IOException">The disk did not take it; nothing is left behind that looks finished.</exception>
    public static string Write(string libraryFolder, FinishedRun run, TimeProvider? time = null)
    {
        string library = Path.GetFullPath(libraryFolder);
        DurableFolder.Make(library);
        string name = RunName.Of(run.Descriptor.StartedAt, run.Descriptor.Setup.Top);
        string unfinished = Path.Combine(library, $"{UnfinishedPrefix}{name}-{Guid.NewGuid():N}");
        Directory.CreateDirectory(unfinished);
        try
        {
            List<(RunTable Table, WrittenFile File)> files =
            [
                (RunTables.Pulses, WritePulses(unfinished, run)),
                (RunTables.Speed, WriteSpeed(unfinished, run.Speed)),
                (RunTables.Events, WriteEvents(unfinished, run.Events)),
            ];
            if (run.Wobble is { } wobble)
                files.Add((RunTables.Wobble, WriteWobble(unfinished, WobblePoint.Of(wobble, run.Speed))));
            if (run.Environment.Count > 0)
                files.Add((RunTables.Environment, WriteEnvironment(unfinished, run.Environment)));
            return Publish(library, unfinished, name, run.Descriptor, files, (time ?? TimeProvider.System).GetUtcNow());
        }
        catch
        {
            Remove(unfinished);
            throw;
        }
    }

    private static string Publish(
        string library, string unfinished, string name, RunDescriptor run, List<(RunTable Table, WrittenFile File)> files, DateTimeOffset created)
    {
        for (int number = 1; ; number++)
        {
            string candidate = number == 1 ? name : $"{name}-{number}";
            string folder = Path.Combine(library, candidate);
            if (Path.Exists(folder))
                continue;
            string descriptor = Path.Combine(unfinished, DataPackageFile.FileName);
            File.Delete(descriptor);
            using (var file = new HashedFile(descriptor))
            {
                file.Write(DataPackageText.Make(candidate, run, files, created));
                file.Finish();
            }

            DurableFolder.Sync(unfinished);
            try
            {
                Directory.Move(unfinished, folder);
            }
            catch (IOException) when (Path.Exists(folder))
            {
                continue; // another writer took the name in between
            }

            DurableFolder.Sync(library);
            return folder;
        }
    }

    private static WrittenFile WritePulses(string folder, FinishedRun run)
    {
        using var file = new HashedFile(Path.Combine(folder, RunTables.Pulses.FileName));
        file.Write(System.Text.Encoding.UTF8.GetBytes(RunTables.Pulses.Header + "\n"));
        var scale = new TickScale(run.SecondsPerTick);
        IReadOnlyList<JudgedPulse> pulses = run.Pulses;
        long firstTicks = pulses.Count > 0 ? pulses[0].Ticks : 0;
        var free = new Stack<byte[]>();
        var underWay = new Queue<Task<(byte[] Bytes, int Length)>>();
        for (int begin = 0; begin < pulses.Count || underWay.Count > 0;)
        {
            while (begin < pulses.Count && underWay.Count < Environment.ProcessorCount + 1)
            {
                byte[] into = free.TryPop(out byte[]? used) ? used : new byte[RowsPerBlock * PulseRows.LongestRowBytes];
                int from = begin;
                underWay.Enqueue(Task.Run(() => (into, FormatBlock(pulses, from, firstTicks, scale, into))));
                begin = Math.Min(begin + RowsPerBlock, pulses.Count);
            }

            (byte[] bytes, int length) = underWay.Dequeue().GetAwaiter().GetResult();
            file.Write(bytes.AsSpan(0, length));
            free.Push(bytes);
        }

        return file.Finish();
    }

    private static int FormatBlock(IReadOnlyList<JudgedPulse> pulses, int from, long firstTicks, TickScale scale, byte[] into)
    {
        int count = Math.Min(RowsPerBlock, pulses.Count - from);
        if (pulses is JudgedPulse[] array)
            return PulseRows.Write(array.AsSpan(from, count), firstTicks, scale, into);
        if (pulses is List<JudgedPulse> list)
            return PulseRows.Write(CollectionsMarshal.AsSpan(list).Slice(from, count), firstTicks, scale, into);
        var copy = new JudgedPulse[count];
        for (int i = 0; i < count; i++)
            copy[i] = pulses[from + i];
        return PulseRows.Write(copy, firstTicks, scale, into);
    }

    private static WrittenFile WriteSpeed(string folder, IReadOnlyList<SpeedPoint> points) =>
        WriteTable(folder, RunTables.Speed, points, static (text, point) =>
        {
            text.Time(point.TimeS);
            text.Field(point.Rpm, DecimalsFor(point.URpm));
            text.Field(point.URpm, DecimalsFor(point.URpm) + 1);
            text.Field(point.DecelRpmPerS, DecimalsFor(point.UDecelRpmPerS));
            text.Field(point.UDecelRpmPerS, DecimalsFor(point.UDecelRpmPerS) + 1);
        });

    private static WrittenFile WriteEvents(string folder, IReadOnlyList<RunEvent> events) =>
        WriteTable(folder, RunTables.Events, events, static (text, happened) =>
        {
            text.Time(happened.TimeS);
            text.Field(happened.Event);
            text.Field(happened.Detail);
        });

    private static WrittenFile WriteWobble(string folder, IReadOnlyList<WobblePoint> points) =>
        WriteTable(folder, RunTables.Wobble, points, static (text, point) =>
        {
            text.Time(point.TimeS);
            text.Field(point.Rpm, 4);
            text.Field(point.RateHz, DecimalsFor(point.URateHz));
            text.Field(point.URateHz, DecimalsFor(point.URateHz) + 1);
            text.Field(point.AmplitudeTurns, DecimalsFor(point.UAmplitudeTurns));
            text.Field(point.UAmplitudeTurns, DecimalsFor(point.UAmplitudeTurns) + 1);
        });

    private static WrittenFile WriteEnvironment(string folder, IReadOnlyList<EnvironmentPoint> points) =>
        WriteTable(folder, RunTables.Environment, points, static (text, point) =>
        {
            text.Time(point.TimeS);
            text.Field(point.TemperatureC, 3);
            text.Field(point.PressureHPa, 3);
            text.Field(point.HumidityPct, 3);
        });

    private static WrittenFile WriteTable<T>(string folder, RunTable table, IReadOnlyList<T> rows, Action<CsvText, T> writeRow)
    {
        using var file = new HashedFile(Path.Combine(folder, table.FileName));
        var text = new CsvText();
        foreach (RunColumn column in table.Columns)
            text.Field(column.Name);
        text.EndLine();
        foreach (T row in rows)
        {
            writeRow(text, row);
            text.EndLine();
            if (text.Written.Length < 1 << 16)
                continue;
            file.Write(text.Written);
            text.Clear();
        }

        file.Write(text.Written);
        return file.Finish();
    }

    /// <summary>Decimals with which rounding stays below a two-hundredth of the uncertainty; six where it is not known.</summary>
    private static int DecimalsFor(double uncertainty) =>
        double.IsFinite(uncertainty) && uncertainty > 0 ? Math.Clamp(2 - (int)Math.Floor(Math.Log10(uncertainty)), 1, 15) : 6;

    private static void Remove(string folder)
    {
        try
        {
            Directory.Delete(folder, recursive: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // What is left has a name that no reader takes for a run, and the verifier names it.
        }
    }
}
