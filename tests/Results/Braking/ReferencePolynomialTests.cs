using System.Diagnostics;
using System.Text.Json;
using Acquire.Results.Braking;
using Acquire.Results.Losses;
using Xunit;

namespace Acquire.Results.Tests.Braking;

/// <summary>The bare motor's curve beside that of numpy's polyfit (Debian's python3-scipy brings it) through the same readings.</summary>
public sealed class ReferencePolynomialTests
{
    [Fact]
    public void The_bare_motors_curve_and_its_uncertainty_agree_with_numpys_to_seven_digits()
    {
        var random = new Random(5);
        BenchReading[] readings = [.. Enumerable.Range(0, 30).Select(i =>
        {
            double w = 60 + (9 * i);
            return new BenchReading(i + 2, w, (2e-3 * w) + (1e-5 * w * w) + (1e-8 * w * w * w) + (0.01 * (random.NextDouble() - 0.5)));
        })];

        // A body that scatters far less, so that the scatter stated for the bare motor is that of its own readings alone.
        BenchReading[] body = [.. readings.Select((r, i) => r with { PowerW = (3e-3 * r.RadPerS) + (1e-5 * r.RadPerS * r.RadPerS) + (i % 2 == 0 ? 1e-3 : -1e-3) })];
        BareMotor bare = BrakeBench.Of(new BenchConfiguration("bare", readings), [new BenchConfiguration("body", body)], 0, out _)!.Bare;
        Assert.False(bare.IsPooled);
        Assert.DoesNotContain(true, bare.Flagged);
        Assert.InRange(bare.Coefficients, 3, 4);
        Assert.Equal(BenchNoise.Constant, bare.Noise);
        double[] at = [60, 100, 155, 222, 321];
        JsonElement expected = Ask(new { x = readings.Select(r => r.RadPerS), y = readings.Select(r => r.PowerW), order = bare.Coefficients - 1, at });
        for (int i = 0; i < at.Length; i++)
        {
            Estimate found = bare.PowerW(at[i]);
            Assert.Equal(1, found.Value / expected.GetProperty("value")[i].GetDouble(), 1e-7);
            Assert.Equal(1, found.U / expected.GetProperty("u")[i].GetDouble(), 1e-7);
        }
    }

    private static JsonElement Ask(object question)
    {
        string script = Path.Combine(AppContext.BaseDirectory, "reference_polynomial.py");
        var start = new ProcessStartInfo("/usr/bin/python3", [script]) { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true };
        using Process python = Process.Start(start)!;
        Task<string> errors = python.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        python.StandardInput.Write(JsonSerializer.Serialize(question));
        python.StandardInput.Close();
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.True(python.ExitCode == 0, errors.Result);
        return JsonDocument.Parse(output).RootElement;
    }
}
