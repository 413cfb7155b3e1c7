using System.Diagnostics;
using Acquire.Acquisition.Simulation;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

namespace Acquire.Faults;

/// <summary>A real file system of a megabyte that runs full at some stage of a capture and has room again later: the run is whole, nothing is lost,
/// no journal is left, and the trouble was said.</summary>
internal static class DiskSuite
{
    private const int Runs = 60;
    private const int SampleRuns = 4;
    private const double TimeScale = 15;
    private const int AtOnce = 2;

    private enum Stage
    {
        Opening,
        Journaling,
        Finishing,
        NoNames,
    }

    public static void Break(Extent extent, Tally tally) => Parallel.ForEach(
        extent.Seeds(Runs, SampleRuns), new ParallelOptions { MaxDegreeOfParallelism = AtOnce }, seed =>
        {
            var stage = (Stage)(seed % 4);
            tally.Note(stage.ToString().ToLowerInvariant());
            tally.Count($"seed {seed}, full at {stage}", Case(stage, new Random(seed), inOwnProcess: seed % 8 < 4));
        });

    private static List<string> Case(Stage stage, Random random, bool inOwnProcess)
    {
        var wrong = new List<string>();
        using var scratch = new Scratch();
        using var disk = new SmallDisk(scratch.At("disk"), stage == Stage.NoNames ? 16 : 1000);
        string library = Directory.CreateDirectory(Path.Combine(disk.Folder, "runs")).FullName;
        if (stage == Stage.Opening)
            disk.Fill(random.Next(0, 2) * 4096);
        var time = new ScaledTimeProvider(TimeProvider.System, TimeScale);
        var spin = new SimulatedSpin(new SpinScenario
        {
            Seed = random.Next(),
            Spins = [new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] }],
            RestAfterS = 1000,
            Sensor = new SensorSettings { MarkOffsetsTurns = SensorSettings.Evenly(4, 0, 1) },
        });
        using SimulatedPulseSource source = SimulatedPulseSource.Paced(spin, time);
        var options = new CaptureOptions { Port = "simulated", Library = library, Once = true, TimeScale = TimeScale, Marks = 4 };
        CaptureSession session = CapturePipeline.Compose(
            options, source, time, NullLogger.Instance, finish: inOwnProcess ? new FinishProcess(library, NullLogger.Instance).Finish : null);
        using var stop = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        Task<bool> said = Task.Run(() => Trouble(stage, session, disk, random, stop.Token));
        CaptureOutcome outcome = session.Run(stop.Token);
        bool wasSaid = said.GetAwaiter().GetResult();
        Check(outcome, library, spin, session, wasSaid, wrong);
        return wrong;
    }

    private static bool Trouble(Stage stage, CaptureSession session, SmallDisk disk, Random random, CancellationToken stop)
    {
        if (stage != Stage.Opening)
        {
            Until(() => session.Live.Phase == RunPhase.Spinning, 30, stop);
            Wait(random.NextDouble() * 0.5, stop);

            // As much room as the journal needs still, or not quite; the package finds too little.
            disk.Fill(stage == Stage.Finishing ? random.Next(20_000, 120_000) : stage == Stage.NoNames ? 800_000 : random.Next(0, 3) * 4096);
            if (stage == Stage.NoNames)
                disk.UseUpNames();
        }

        bool said = Until(() => session.Live.Trouble is not null, 20, stop);
        Wait(random.NextDouble() * 2, stop);
        disk.Free();
        return said;
    }

    private static void Check(CaptureOutcome outcome, string library, SimulatedSpin spin, CaptureSession session, bool wasSaid, List<string> wrong)
    {
        if (outcome.Failed || outcome.Runs.Count != 1)
        {
            wrong.Add($"{outcome.Runs.Count} runs, failed {outcome.Failed}: {session.Live.Trouble}");
            return;
        }

        if (!wasSaid)
            wrong.Add("nobody was told");
        LibraryCheck.Verify(library, wrong);
        RunDescriptor run = RunPackageReader.ReadDescriptor(outcome.Runs[0]);
        if (Math.Abs(run.Result.SpinTimeS - spin.Spins[0].SpinTimeS) > 0.5 || run.Counts.Missed != 0 || run.Counts.LostOnLine != 0 || session.Live.Counts.BytesLost != 0)
            wrong.Add($"the run is not whole: {run.Result.SpinTimeS} s of {spin.Spins[0].SpinTimeS} s, {run.Counts}, {session.Live.Counts}");
        if (Directory.GetFiles(Path.Combine(library, RunLibrary.OpenFolder), "*.journal").Length > 0)
            wrong.Add("a journal was left");
    }

    private static bool Until(Func<bool> what, double atMostS, CancellationToken stop)
    {
        long began = TimeProvider.System.GetTimestamp();
        while (!what())
        {
            if (stop.IsCancellationRequested || TimeProvider.System.GetElapsedTime(began).TotalSeconds > atMostS)
                return false;
            Wait(0.005, stop);
        }

        return true;
    }

    private static void Wait(double s, CancellationToken stop) => stop.WaitHandle.WaitOne(TimeSpan.FromSeconds(s));

    /// <summary>A file system in memory of one megabyte and so many files.</summary>
    private sealed class SmallDisk : IDisposable
    {
        private readonly string _ballast;
        private readonly List<string> _names = [];

        public SmallDisk(string folder, int files)
        {
            Folder = Directory.CreateDirectory(folder).FullName;
            _ballast = Path.Combine(Folder, "ballast");
            Call("mount", "-t", "tmpfs", "-o", $"size=1m,nr_inodes={files}", "tmpfs", Folder);
        }

        public string Folder { get; }

        /// <summary>Fills it but for so many bytes.</summary>
        public void Fill(long leaveBytes)
        {
            long bytes = new DriveInfo(Folder).AvailableFreeSpace - leaveBytes;
            using FileStream file = File.Create(_ballast);
            try
            {
                file.Write(new byte[Math.Max(0, bytes)]);
                file.Flush();
            }
            catch (IOException)
            {
                // The capture was quicker; full is full.
            }
        }

        /// <summary>Makes files until no further one can be made.</summary>
        public void UseUpNames()
        {
            try
            {
                for (int i = 0; i < 10_000; i++)
                {
                    string name = Path.Combine(Folder, $"name{i}");
                    File.Create(name).Dispose();
                    _names.Add(name);
                }
            }
            catch (IOException)
            {
                // That was the last.
            }
        }

        public void Free()
        {
            File.Delete(_ballast);
            foreach (string name in _names)
                File.Delete(name);
        }

        // Lazily: a process that another case starts at this moment may hold it for an instant.
        public void Dispose() => Call("umount", "--lazy", Folder);

        private static void Call(string program, params string[] words)
        {
            using Process call = Process.Start(new ProcessStartInfo(program, words) { RedirectStandardError = true })!;
            string error = call.StandardError.ReadToEnd();
            call.WaitForExit();
            if (call.ExitCode != 0)
                throw new IOException($"{program} {string.Join(' ', words)}: {error} A small file system is needed: run as root, or where user namespaces may be made.");
        }
    }
}
