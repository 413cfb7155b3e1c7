using System.Security.Cryptography;
using Acquire.Conditioning;

namespace Acquire.Recording;

/// <summary>Something wrong with a run.</summary>
/// <param name="Run">Name of its folder.</param>
/// <param name="File">The file, or empty where it is the folder as a whole.</param>
/// <param name="What">What is wrong, for people.</param>
public sealed record RunProblem(string Run, string File, string What);

/// <summary>Checks runs against their descriptors and the format.</summary>
public static class RunVerifier
{
    /// <summary>Checks every run of a library, and names folders in which a run was being written when it was cut short.</summary>
    public static IReadOnlyList<RunProblem> VerifyLibrary(string libraryFolder)
    {
        if (!Directory.Exists(libraryFolder))
            return [new RunProblem("", "", $"there is no folder {libraryFolder}")];
        var problems = new List<RunProblem>();
        foreach (string folder in Directory.EnumerateDirectories(Path.GetFullPath(libraryFolder)).Order(StringComparer.Ordinal))
        {
            string name = Path.GetFileName(folder);
            if (name.StartsWith(RunPackageWriter.UnfinishedPrefix, StringComparison.Ordinal))
                problems.Add(new RunProblem(name, "", "unfinished: the program was stopped while it wrote this run; recover it from its journal, then delete the folder"));
            else if (!name.StartsWith('.'))
                problems.AddRange(Verify(folder));
        }

        return problems;
    }

    /// <summary>Checks one run.</summary>
    /// <returns>Every problem found; none where all is well.</returns>
    public static IReadOnlyList<RunProblem> Verify(string runFolder)
    {
        string folder = Path.GetFullPath(runFolder);
        var check = new Check(folder, Path.GetFileName(Path.TrimEndingDirectorySeparator(folder)));
        if (!Directory.Exists(folder))
            check.Add("", "there is no such folder");
        else
            check.Run();
        return check.Problems;
    }

    private sealed class Check(string folder, string name)
    {
        public List<RunProblem> Problems { get; } = [];

        public void Add(string file, string what) => Problems.Add(new RunProblem(name, file, what));

        public void Run()
        {
            DataPackageFile package;
            try
            {
                package = RunPackageReader.ReadPackage(folder);
            }
            catch (Exception e) when (e is RunFormatException or IOException or UnauthorizedAccessException)
            {
                Add(DataPackageFile.FileName, e.Message);
                return;
            }

            foreach (RunTable table in new[] { RunTables.Pulses, RunTables.Speed, RunTables.Events })
            {
                if (!package.Resources.Any(resource => resource.Name == table.Name))
                    Add(DataPackageFile.FileName, $"has no resource {table.Name}");
            }

            if (package.Acquire.Wobble is not null && !package.Resources.Any(resource => resource.Name == RunTables.Wobble.Name))
                Add(DataPackageFile.FileName, $"tells of a wobble, but has no resource {RunTables.Wobble.Name}");
            if (package.Acquire.Air is { Readings: > 0 } && !package.Resources.Any(resource => resource.Name == RunTables.Environment.Name))
                Add(DataPackageFile.FileName, $"tells of the air, but has no resource {RunTables.Environment.Name}");
            foreach (DataPackageResource resource in package.Resources)
                CheckResource(resource, package.Acquire);
            CheckEdits(package.Acquire);
            CheckOthers(package);
        }

        private void CheckResource(DataPackageResource resource, RunDescriptor run)
        {
            if (resource.Path.Length == 0 || Path.GetFileName(resource.Path) != resource.Path || resource.Path.StartsWith('.'))
            {
                Add(DataPackageFile.FileName, $"the resource {resource.Name} has the path '{resource.Path}', expected the name of a file beside it");
                return;
            }

            string path = Path.Combine(folder, resource.Path);
            if (!File.Exists(path))
            {
                Add(resource.Path, "is missing");
                return;
            }

            try
            {
                CheckBytes(resource, path);
                CheckColumns(resource);
                CheckRows(resource, run);
            }
            catch (RunFormatException e)
            {
                Add(resource.Path, $"{(e.Place.Length > 0 ? e.Place + ": " : "")}found {e.Found}, expected {e.Expected}");
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                Add(resource.Path, $"cannot be read: {e.Message}");
            }
        }

        private void CheckBytes(DataPackageResource resource, string path)
        {
            using FileStream file = File.OpenRead(path);
            if (resource.Bytes is not { } bytes)
                Add(DataPackageFile.FileName, $"says no size for {resource.Path}");
            else if (bytes != file.Length)
                Add(resource.Path, $"has {file.Length} bytes, expected {bytes}");
            string hash = "sha256:" + Convert.ToHexStringLower(SHA256.HashData(file));
            if (resource.Hash is not { } expected)
                Add(DataPackageFile.FileName, $"says no hash for {resource.Path}");
            else if (!string.Equals(expected, hash, StringComparison.OrdinalIgnoreCase))
                Add(resource.Path, $"its content was changed: {hash}, expected {expected}");
        }

        private void CheckColumns(DataPackageResource resource)
        {
            if (RunTables.All.FirstOrDefault(known => known.Name == resource.Name) is not { } table)
                return;
            string expected = string.Join(", ", table.Columns.Select(column => $"{column.Name} {column.Type}"));
            string found = resource.Schema is null ? "none" : string.Join(", ", resource.Schema.Fields.Select(field => $"{field.Name} {field.Type}"));
            if (found != expected)
                Add(DataPackageFile.FileName, $"the schema of {resource.Name} has the columns {found}, expected {expected}");
            if (resource.Path != table.FileName)
                Add(DataPackageFile.FileName, $"the resource {resource.Name} has the path {resource.Path}, expected {table.FileName}");
        }

        private void CheckRows(DataPackageResource resource, RunDescriptor run)
        {
            if (resource.Name == RunTables.Pulses.Name)
                CheckPulses(RunPackageReader.ReadPulses(folder), run.Counts);
            else if (resource.Name == RunTables.Speed.Name)
                CheckTimes(resource.Path, [.. RunPackageReader.ReadSpeed(folder).Select(point => point.TimeS)]);
            else if (resource.Name == RunTables.Events.Name)
                CheckTimes(resource.Path, [.. RunPackageReader.ReadEvents(folder).Select(happened => happened.TimeS)]);
            else if (resource.Name == RunTables.Wobble.Name)
                CheckTimes(resource.Path, [.. RunPackageReader.ReadWobble(folder).Select(point => point.TimeS)]);
            else if (resource.Name == RunTables.Environment.Name)
                CheckEnvironment(resource.Path, RunPackageReader.ReadEnvironment(folder), run.Air);
        }

        private void CheckEnvironment(string file, IReadOnlyList<EnvironmentPoint> points, RunAir? air)
        {
            CheckTimes(file, [.. points.Select(point => point.TimeS)]);
            if (air is not null && air.Readings != points.Count)
                Add(DataPackageFile.FileName, $"air.readings is {air.Readings}, but {file} has {points.Count}");
            for (int i = 0; i < points.Count; i++)
            {
                if (points[i] is { TemperatureC: < -273.15 } or { PressureHPa: < 0 } or { HumidityPct: < 0 or > 100 })
                    Add(file, $"row {i + 1}: holds what no air can be");
            }
        }

        private void CheckPulses(RunPulses pulses, RunCounts counts)
        {
            long marks = pulses.Kind.LongCount(kind => kind == PulseKind.Mark);
            CheckCount("received", counts.Received, pulses.Count);
            CheckCount("marks", counts.Marks, marks);
            CheckCount("extra", counts.Extra, pulses.Count - marks);
            CheckTimes(RunTables.Pulses.FileName, pulses.TimeS);
        }

        private void CheckCount(string count, long said, long found)
        {
            if (said != found)
                Add(DataPackageFile.FileName, $"counts.{count} is {said}, but {RunTables.Pulses.FileName} has {found}");
        }

        private void CheckTimes(string file, ReadOnlySpan<double> timesS)
        {
            for (int i = 1; i < timesS.Length; i++)
            {
                if (timesS[i] >= timesS[i - 1])
                    continue;
                Add(file, $"row {i + 1}: time_s goes back from {timesS[i - 1]} to {timesS[i]}");
                return;
            }
        }

        // The edits of one thing follow on each other, and the last says what is there now.
        private void CheckEdits(RunDescriptor run)
        {
            foreach (IGrouping<string, RunEdit> edits in (run.Edits ?? []).GroupBy(edit => edit.What))
            {
                RunEdit[] inOrder = [.. edits];
                for (int i = 1; i < inOrder.Length; i++)
                {
                    if (inOrder[i].From != inOrder[i - 1].To)
                        Add(DataPackageFile.FileName, $"acquire.edits: {edits.Key} goes from '{inOrder[i].From}', but was left as '{inOrder[i - 1].To}'");
                }

                string? now = edits.Key == RunEdit.Folder ? inOrder[^1].To : RunEditor.ValueOf(run, edits.Key);
                if (now != inOrder[^1].To)
                    Add(DataPackageFile.FileName, $"acquire.setup: {edits.Key} is '{now}', but its last edit left '{inOrder[^1].To}'");
            }
        }

        private void CheckOthers(DataPackageFile package)
        {
            var known = package.Resources.Select(resource => resource.Path).Concat(RunTables.Companions).ToHashSet(StringComparer.Ordinal);
            foreach (string entry in Directory.EnumerateFileSystemEntries(folder).Select(path => Path.GetFileName(path)!).Order(StringComparer.Ordinal))
            {
                if (entry == RunEditor.UnfinishedName)
                    Add(entry, "was left by an edit that was cut short and counts for nothing: delete it");
                else if (!known.Contains(entry))
                    Add(entry, "is not in the descriptor");
            }
        }
    }
}
