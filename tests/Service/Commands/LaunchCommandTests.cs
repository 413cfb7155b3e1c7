using System.Text.Json;
using Acquire.Conditioning;
using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

/// <summary>Invented launches: an even push of 100 rad/s² from rest to a peak, marks once a turn without jitter.</summary>
public sealed class LaunchCommandTests : IDisposable
{
    private const double RadPerS2 = 100;
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private string Write(int number, double peakRpm, string who)
    {
        double peak = peakRpm * Math.PI / 30;
        double firstS = Math.Sqrt(2 * 2 * Math.PI / RadPerS2); // the first mark after a turn from rest
        double releaseS = (peak / RadPerS2) - firstS;
        double launchTurns = peak * peak / (2 * RadPerS2) / (2 * Math.PI);
        var pulses = new List<JudgedPulse>();
        for (int turn = 1; turn <= launchTurns; turn++)
            pulses.Add(new((long)Math.Round(1e9 * (Math.Sqrt(4 * Math.PI * turn / RadPerS2) - firstS)), 0, PulseKind.Mark, 0, turn - 1));
        double rest = Math.Ceiling(launchTurns) - launchTurns;
        for (int i = 0; i < 100; i++)
            pulses.Add(new((long)Math.Round(1e9 * (releaseS + ((rest + i) * 60 / peakRpm))), 0, PulseKind.Mark, 0, pulses.Count));
        FinishedRun usual = SampleRuns.Make(start: SampleRuns.Start.AddHours(number));
        return SampleRuns.Write(_bench.Library, new FinishedRun
        {
            Descriptor = usual.Descriptor with
            {
                Setup = usual.Descriptor.Setup with { Operator = who },
                Counts = usual.Descriptor.Counts with { Marks = pulses.Count },
                Result = usual.Descriptor.Result with { PeakRpm = peakRpm, UPeakRpm = 0.5, ReleaseS = releaseS },
                Budget = new RunBudget(0, 0.002, 0.1),
            },
            Pulses = pulses,
            SecondsPerTick = 1e-9,
            Speed = usual.Speed,
            Events = [new(0, "launch", ""), new(releaseS, "release", ""), new(1400, "stop", "")],
        });
    }

    private string Rotor()
    {
        string file = Path.Combine(_bench.Current, "disc.json");
        File.WriteAllText(file, """{"name": "disc", "parts": [{"name": "disc", "shape": "cylinder", "radiusMm": 50, "heightMm": 20, "bottomMm": 0, "massKg": 2}]}""");
        return file;
    }

    [Fact]
    public void The_json_has_the_torque_that_was_put_in()
    {
        string run = Write(0, 1800, "A");
        Assert.True(_bench.Run("launch", run, "--rotor", Rotor(), "--json") == 0, _bench.Error);
        JsonElement answer = JsonDocument.Parse(_bench.Out).RootElement;
        Assert.Equal("operator", answer.GetProperty("by").GetString());
        JsonElement launch = Assert.Single(answer.GetProperty("runs").EnumerateArray());
        Assert.Equal(1800, launch.GetProperty("peakRpm").GetDouble());
        Assert.Equal((60 * Math.PI / RadPerS2) - Math.Sqrt(4 * Math.PI / RadPerS2), launch.GetProperty("timeToPeakS").GetDouble(), 1e-4);
        Assert.Equal(0.002, launch.GetProperty("uTimeToPeakS").GetDouble());
        Assert.Equal(1, launch.GetProperty("pushes").GetInt32());
        Assert.Equal((60.0 * 60 * Math.PI / 400) - 1, launch.GetProperty("turns").GetDouble(), 0.05);

        // A cylinder of 2 kg and 50 mm: 2.5e-3 kg m² (½ m r²).
        Assert.Equal(2.5e-3 * RadPerS2, launch.GetProperty("meanTorqueNm").GetDouble(), 2.5e-3);
        Assert.Equal(2.5e-3 * RadPerS2, launch.GetProperty("greatestTorqueNm").GetDouble(), 5e-3);
        Assert.Single(answer.GetProperty("groups").EnumerateArray());
    }

    [Fact]
    public void People_are_compared_with_interval_and_without_a_body_there_is_no_torque()
    {
        double[] scatter = [-20, 0, 25];
        for (int i = 0; i < 3; i++)
        {
            Write(i, 1800 + scatter[i], "Ann");
            Write(10 + i, 2000 + scatter[i], "Bo");
        }

        string plot = Path.Combine(_bench.Current, "a.png");
        string page = Path.Combine(_bench.Current, "a.html");
        Assert.True(_bench.Run("launch", "--where", "top=oak rim", "--plot", plot, "--report", page) == 0, _bench.Error);
        string[] lines = _bench.Out.Split('\n');
        Assert.Equal("6 launches by operator", lines[0]);
        Assert.StartsWith("Bo beside Ann: peak speed +11.1 % (+8", lines[2]);
        Assert.DoesNotContain("torque", _bench.Out, StringComparison.Ordinal);
        Assert.True(new FileInfo(plot).Length > 10_000);
        Assert.Contains("Bo beside Ann", File.ReadAllText(page), StringComparison.Ordinal);
    }

    [Fact]
    public void One_launch_each_gives_no_verdict()
    {
        Write(0, 1800, "Ann");
        Write(1, 2000, "Bo");
        Assert.Equal(0, _bench.Run("launch", "--where", "top=oak rim"));
        Assert.Contains("nobody can say whether it is more than chance", _bench.Out, StringComparison.Ordinal);
        Assert.DoesNotContain("NaN", _bench.Out, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("which runs?")]
    [InlineData("--by: there is no 'oprator'; did you mean operator?", "--where", "top=oak rim", "--by", "oprator")]
    [InlineData("found no file", "--where", "top=oak rim", "--rotor", "none.json")]
    [InlineData("--plot: ", "--where", "top=oak rim", "--plot", "a.gif")]
    public void A_wrong_call_says_what_is_wrong(string said, params string[] args)
    {
        Write(0, 1800, "Ann");
        Assert.Equal(2, _bench.Run(["launch", .. args]));
        Assert.Contains(said, _bench.Error, StringComparison.Ordinal);
        Assert.Contains("See acquire launch --help.", _bench.Error, StringComparison.Ordinal);
    }
}
