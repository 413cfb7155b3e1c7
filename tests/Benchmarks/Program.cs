using Acquire.Benchmarks;
using BenchmarkDotNet.Running;

const string Usage =
    """
    Usage: dotnet run -c Release --project tests/Benchmarks -- <what> [options]
      lines                 bytes of lines to pulses, in memory (options are BenchmarkDotNet's)
      pipeline              bytes on a pseudo-terminal to journal and live speed; Linux
      finish                a run's journal to its package
      analyse               a package read and fully analysed, beside pandas reading its pulses.csv
      page                  pulse to page with twenty pages open, and how soon a library of 5,000 runs is there; Linux
    Options of pipeline, finish, analyse and page:
      --pulses <number>     pulses of the invented spin (pipeline 3000000, page 100000 at 1,000 a second, the others 5000000)
      --repeats <number>    of each measurement, after one that warms up (3)
      --board-core <core>   pipeline: keep the thread that plays the board on this core, whatever the rest is kept to
      --folder <path>       where journals and packages go for the time being (the folder for temporary files)
    To keep all on one core: taskset -c 0 dotnet tests/Benchmarks/bin/Release/net10.0/Acquire.Benchmarks.dll pipeline
    """;

try
{
    switch (args)
    {
        case ["pipeline", .. string[] options]:
            return PipelineTable.Run(MeasureOptions.Parse(options, pulses: 3_000_000));
        case ["finish", .. string[] options]:
            return FinishTable.Run(MeasureOptions.Parse(options, pulses: 5_000_000));
        case ["analyse", .. string[] options]:
            return AnalyseTable.Run(MeasureOptions.Parse(options, pulses: 5_000_000));
        case ["page", .. string[] options]:
            return PageTable.Run(MeasureOptions.Parse(options, pulses: 100_000));
        case ["lines", .. string[] options]:
            BenchmarkRunner.Run<LinesToPulses>(args: options);
            return 0;
        default:
            Console.Error.WriteLine(Usage);
            return 2;
    }
}
catch (ArgumentException wrong)
{
    Console.Error.WriteLine(wrong.Message);
    return 2;
}
