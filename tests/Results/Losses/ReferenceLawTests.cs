using System.Diagnostics;
using System.Globalization;
using Acquire.Conditioning;
using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Losses;

/// <summary>The loss law beside that which scipy (Debian's python3-scipy) finds from the same marks by the equation of motion.</summary>
public sealed class ReferenceLawTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-law-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Law_uncertainty_deceleration_and_time_agree_with_scipy_on_the_same_marks()
    {
        List<JudgedPulse> marks = new TangentSpin(0.9, 1.6, 2200).Marks(500, 1e-4, 11);
        FittedLaw law = LossLawFit.Of(TangentSpin.Of(marks))!;
        Assert.Equal([0, 2], law.Law.Terms.Select(t => t.Exponent));
        string path = Path.Combine(_folder, "marks.csv");
        File.WriteAllLines(path, marks.Select(m => string.Create(CultureInfo.InvariantCulture, $"{m.Ticks * 1e-9:R},{m.Turns:R}")));
        Dictionary<string, double[]> scipy = Run(path, "0", "2");
        for (int k = 0; k < 2; k++)
        {
            LawTerm term = law.Law.Terms[k];
            double u = Math.Sqrt(law.Candidates[0].Covariance[k, k]);
            // Blocks and weights are others': the estimates agree within a fraction of what both are unsure by.
            Assert.Equal(scipy["free"][k], term.Coefficient, 0.5 * u);
            Assert.Equal(scipy["free"][k], term.Coefficient, 1e-4 * term.Coefficient);
            Assert.InRange(u / scipy["free"][k + 2], 0.7, 1.45);
        }

        double[] rpm = [600, 1000, 1800];
        for (int i = 0; i < rpm.Length; i++)
        {
            Estimate found = law.Deceleration(rpm[i] * Math.PI / 30);
            Assert.Equal(scipy["bounded"][i], found.Value, 4 * found.U);
        }

        double seconds = new LossLaw([new(0, scipy["free"][0]), new(2, scipy["free"][1])]).TimeBetween(2000 * Math.PI / 30, 700 * Math.PI / 30);
        Assert.Equal(scipy["time"][0], seconds, 1e-9 * seconds);
    }

    private static Dictionary<string, double[]> Run(params string[] args)
    {
        var start = new ProcessStartInfo("/usr/bin/python3", [Path.Combine(AppContext.BaseDirectory, "reference_law.py"), .. args])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using Process python = Process.Start(start)!;
        Task<string> errors = python.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.True(python.ExitCode == 0, errors.Result);
        return output.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => l.Split(','))
            .ToDictionary(l => l[0], l => l.Skip(1).Select(v => double.Parse(v, CultureInfo.InvariantCulture)).ToArray());
    }
}
