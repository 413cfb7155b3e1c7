using System.Diagnostics;
using System.Globalization;
using Acquire.Conditioning.Tests;
using Xunit;

namespace Acquire.Motion.Tests;

/// <summary>The speed after the run beside that of another program on the same marks: one least-squares spline over the whole spin, by scipy
/// (Debian's python3-scipy), with its own uncertainty.</summary>
public sealed class ReferenceSpeedTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-reference-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Theory]
    [InlineData(2e-5, 3)]
    [InlineData(2e-4, 4)]
    public void Speeds_agree_with_a_spline_by_scipy_within_the_combined_uncertainty(double jitterS, int seed)
    {
        var spin = new ExactSpin();
        var random = new Random(seed);
        var marks = spin.Marks().Where(m => m.TimeS > spin.ReleaseS).Select(m => (TimeS: m.TimeS + (jitterS * ExactSpin.Normal(random)), m.Turns)).ToList();
        var series = new MarkSeries([.. marks.Select(m => m.TimeS - marks[0].TimeS)], [.. marks.Select(m => m.Turns)]);
        SpinEstimate found = SpinEstimator.Estimate(series, 1, 1);
        List<SpeedPoint> points = [.. found.Speed.Where(p => p.TimeS > 5 && p.TimeS < found.StopS - 5)];
        List<double[]> reference = Reference(series, points);
        Assert.Equal(points.Count, reference.Count);
        double squares = 0;
        for (int i = 0; i < points.Count; i++)
        {
            double together = double.Hypot(points[i].URpm, reference[i][2]);
            double apart = (points[i].Rpm - reference[i][1]) / together;
            Assert.InRange(apart, -4, 4);
            squares += apart * apart / points.Count;
        }

        Assert.InRange(Math.Sqrt(squares), 0.1, 1.2); // the same marks: closer than two independent estimates
    }

    private List<double[]> Reference(MarkSeries marks, List<SpeedPoint> points)
    {
        string marksPath = Path.Combine(_folder, "marks.csv");
        string momentsPath = Path.Combine(_folder, "moments.csv");
        File.WriteAllLines(marksPath, marks.TimeS.Zip(marks.Turns, (t, a) => string.Create(CultureInfo.InvariantCulture, $"{t:R},{a:R}")));
        File.WriteAllLines(momentsPath, points.Select(p => p.TimeS.ToString("R", CultureInfo.InvariantCulture)));
        var start = new ProcessStartInfo("/usr/bin/python3", [Path.Combine(AppContext.BaseDirectory, "reference_speed.py"), marksPath, momentsPath])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using Process python = Process.Start(start)!;
        Task<string> errors = python.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.True(python.ExitCode == 0, errors.Result);
        return [.. output.Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(line => line.Split(',').Select(v => double.Parse(v, CultureInfo.InvariantCulture)).ToArray())];
    }
}
