using Acquire.Acquisition.Simulation;
using Acquire.DemoLibrary;
using Acquire.Service.Capture;
using Microsoft.Extensions.Logging.Abstractions;

if (args is not [{ Length: > 0 } library] || library.StartsWith('-'))
{
    Console.Error.WriteLine("Makes a library of invented runs. Usage: Acquire.DemoLibrary LIBRARY");
    return 2;
}

bool failed = false;
Parallel.ForEach(DemoScenario.Runs(), run =>
{
    SimulatedSpin spin = DemoScenario.Spin(run);
    var options = new CaptureOptions
    {
        Port = "simulated",
        Library = Path.GetFullPath(library),
        Top = "demo disc",
        Base = "demo dish",
        Cover = run.ClearanceMm is null ? "none" : "ring",
        Operator = "demo",
        Note = DemoScenario.Note,
        Factors = run.ClearanceMm is { } mm ? new() { ["clearance_mm"] = mm } : [],
    };
    using SimulatedPulseSource source = SimulatedPulseSource.Synthetic(spin, new HostDelays { AskEveryS = 10 });
    CaptureOutcome outcome = CapturePipeline.Compose(options, source, new InventedClock(run.StartUtc), NullLogger.Instance).Run(CancellationToken.None);
    lock (source.GetType())
    {
        if (outcome.Failed || outcome.Runs.Count != 1)
        {
            Console.Error.WriteLine($"Run {run.Number} could not be made.");
            failed = true;
        }
        else
        {
            Console.Error.WriteLine(outcome.Runs[0]);
        }
    }
});
return failed ? 3 : 0;
