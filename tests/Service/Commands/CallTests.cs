namespace Acquire.Service.Tests.Commands;

public sealed class CallTests : IDisposable
{
    private static readonly string[] Names = ["capture", "sensor", "status", "runs", "show", "edit", "verify", "import", "export", "spindown", "compare", "sweep", "launch", "brake", "best", "evidence", "forecast", "rotor", "air", "plan"];
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void The_version_goes_to_standard_output()
    {
        Assert.Equal(0, _bench.Run("--version"));
        Assert.Equal("acquire 0.1.0\n", _bench.Out);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void The_help_lists_the_commands_by_group()
    {
        Assert.Equal(0, _bench.Run("--help"));
        string[] lines = _bench.Out.Split('\n');
        int capture = Array.IndexOf(lines, "Capture:");
        int library = Array.IndexOf(lines, "Library:");
        Assert.StartsWith("  capture ", lines[capture + 1]);
        Assert.StartsWith("  sensor ", lines[capture + 2]);
        Assert.Equal(["runs", "show", "edit", "verify"], lines[(library + 1)..(library + 5)].Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries)[0]));
    }

    [Fact]
    public void Every_command_has_a_help_with_an_example_that_names_only_its_options()
    {
        foreach (string name in Names)
        {
            using var bench = new Bench();
            Assert.Equal(0, bench.Run(name, "--help"));
            string example = bench.Out[bench.Out.IndexOf("Example", StringComparison.Ordinal)..];
            Assert.Contains($"acquire {name}", example);
            foreach (string option in example.Split([' ', '\n']).Where(w => w.StartsWith("--", StringComparison.Ordinal)))
                Assert.Contains($"\n  {option}", bench.Out);
        }
    }

    [Theory]
    [InlineData("acquire: a command is needed: capture, sensor, serve, status, runs, show, edit, verify, recover, import, export, spindown, compare, sweep, launch, brake, best, evidence, forecast, rotor, air, plan")]
    [InlineData("acquire: unknown command captur; did you mean capture?", "captur")]
    [InlineData("acquire: unknown command fly; there are capture, sensor, serve, status, runs, show, edit, verify, recover, import, export, spindown, compare, sweep, launch, brake, best, evidence, forecast, rotor, air, plan", "fly")]
    [InlineData("acquire capture: unknown option --prot; did you mean --port?", "capture", "--prot", "/dev/ttyACM0")]
    [InlineData("acquire runs: unknown option --josn; did you mean --json?", "runs", "--josn")]
    [InlineData("acquire runs: unknown word here", "runs", "here")]
    public void A_call_that_makes_no_sense_is_refused_with_what_was_meant(string message, params string[] args)
    {
        Assert.Equal(2, _bench.Run(args));
        Assert.Equal(message, _bench.Error.Split('\n')[0]);
        Assert.Equal(2, _bench.Error.TrimEnd('\n').Split('\n').Length);
        Assert.Equal("", _bench.Out);
    }

    [Theory]
    [InlineData("capture", "--port")]
    [InlineData("capture", "--port", "a", "--port", "b")]
    [InlineData("show")]
    [InlineData("verify", "a", "b")]
    public void A_word_missing_or_too_many_is_refused(params string[] args)
    {
        Assert.Equal(2, _bench.Run(args));
        Assert.StartsWith($"acquire {args[0]}: ", _bench.Error);
        Assert.Equal("", _bench.Out);
    }
}
