namespace Acquire.Service.Tests.Commands;

public sealed class CaptureCommandTests
{
    private const string Nowhere = "/dev/acquire-no-such-port";

    [Fact]
    public void Wrong_settings_are_all_named_before_anything_starts()
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("capture", "--baud", "x", "--marks", "0", "--factor", "a", "--factor", "rim_g=1", "--factor", "rim_g=2"));
        string[] lines = bench.Error.TrimEnd('\n').Split('\n');
        Assert.Equal("acquire capture: --factor: 'a' on the command line; allowed is name=number", lines[0]);
        Assert.Equal("acquire capture: --factor: 'rim_g' on the command line is given twice; allowed is one value a name", lines[1]);
        Assert.StartsWith("acquire capture: --baud: 'x' on the command line; ", lines[2]);
        Assert.StartsWith("acquire capture: --port: nothing given; ", lines[3]);
        Assert.StartsWith("acquire capture: --marks: '0' on the command line; ", lines[4]);
        Assert.Contains("here now", lines[5]);
        Assert.Equal("See acquire capture --help.", lines[^1]);
        Assert.False(Directory.Exists(bench.Library));
    }

    [Fact]
    public void A_port_that_is_not_there_is_an_error_where_it_is_not_to_be_waited_for()
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("capture", "--port", Nowhere, "--wait", "false"));
        Assert.Contains($"acquire capture: Port {Nowhere} is not there.", bench.Error);
        Assert.Equal("", bench.Out);
    }

    [Fact]
    public void Something_that_is_no_serial_port_is_never_waited_for()
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("capture", "--port", "/dev/null"));
        Assert.Contains("/dev/null is not a serial port", bench.Error);
    }

    [Fact]
    public void A_port_that_is_waited_for_is_said_to_be_and_the_user_can_end_the_wait()
    {
        using var stop = new CancellationTokenSource(TimeSpan.FromSeconds(2));
        using var bench = new Bench { Stop = stop.Token };
        Assert.Equal(130, bench.Run("capture", "--port", Nowhere));
        Assert.Contains($"warning Port {Nowhere} is not there.", bench.Error);
        Assert.Contains("information no link;", bench.Error);
        Assert.DoesNotContain('\u001b', bench.Error);
        Assert.Equal("", bench.Out);
    }

    [Theory]
    [InlineData("--plan: there is no file '", null)]
    [InlineData("--plan: ", "cover\nring\n")]
    [InlineData("line 2: found row 'x', expected a number", "plan,row,block,cover\nP,x,1,ring\n")]
    public void A_plan_that_is_none_is_refused_before_anything_starts(string said, string? sheet)
    {
        using var bench = new Bench();
        if (sheet is not null) File.WriteAllText(Path.Combine(bench.Current, "plan.csv"), sheet);
        Assert.Equal(2, bench.Run("capture", "--port", Nowhere, "--plan", "plan.csv"));
        Assert.Contains(said, bench.Error, StringComparison.Ordinal);
        Assert.False(Directory.Exists(bench.Library));
    }

    [Fact]
    public void What_is_next_is_said_before_any_launch_even_before_the_port_is_there()
    {
        using var stop = new CancellationTokenSource(TimeSpan.FromSeconds(2));
        using var bench = new Bench { Stop = stop.Token };
        File.WriteAllText(Path.Combine(bench.Current, "plan.csv"), "plan,row,block,cover,remark\nP,1,1,ring,x\n");
        Assert.Equal(130, bench.Run("capture", "--port", Nowhere, "--plan", "plan.csv"));
        Assert.Contains("acquire capture: --plan: columns that are not the plan's are passed over: remark", bench.Error);
        Assert.Contains("information Plan P, 0 of 1 done: next row 1 of 1 (block 1): cover=ring", bench.Error);
    }

    [Fact]
    public void A_library_that_is_a_file_is_refused()
    {
        using var bench = new Bench();
        File.WriteAllText(bench.Library, "");
        Assert.Equal(2, bench.Run("capture", "--port", Nowhere));
        Assert.Contains($"--library: '{bench.Library}' is a file; allowed is a folder", bench.Error);
    }

    [Fact]
    public void The_log_is_set_up_by_the_settings_file()
    {
        using var stop = new CancellationTokenSource(TimeSpan.FromSeconds(1));
        using var bench = new Bench { Stop = stop.Token };
        string log = Path.Combine(bench.Current, "acquire.log");
        File.WriteAllText(
            Path.Combine(bench.Current, "appsettings.json"),
            $$$"""{"Serilog":{"MinimumLevel":"Warning","WriteTo":[{"Name":"File","Args":{"path":"{{{log}}}"}}]}}""");
        bench.Run("capture", "--port", Nowhere);
        Assert.Contains($"Port {Nowhere} is not there.", File.ReadAllText(log));
        Assert.DoesNotContain("no link;", bench.Error);
    }

    [Fact]
    public void A_log_file_grows_to_its_size_and_only_so_many_are_kept()
    {
        using var stop = new CancellationTokenSource(TimeSpan.FromSeconds(1));
        using var bench = new Bench { Stop = stop.Token };
        string folder = Directory.CreateDirectory(Path.Combine(bench.Current, "log")).FullName;
        string Old(int i) => Path.Combine(folder, i == 0 ? "bench.log" : $"bench_00{i}.log");
        for (int i = 0; i < 4; i++) File.WriteAllText(Old(i), new string('x', i == 3 ? 9_990 : 10_000));
        Assert.Equal(130, bench.Run("capture", "--port", Nowhere, "--log-file", "log/bench.log", "--log-file-mb", "0.01", "--log-files", "3"));

        Assert.Equal([Old(2), Old(3), Old(4)], Directory.GetFiles(folder).Order(StringComparer.Ordinal));
        Assert.All(Directory.GetFiles(folder), f => Assert.InRange(new FileInfo(f).Length, 50, 10_500));
        Assert.Contains(Nowhere, File.ReadAllText(Old(3)) + File.ReadAllText(Old(4)));
    }

    [Fact]
    public void A_log_file_that_cannot_be_written_is_refused_before_anything_starts()
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run("capture", "--port", Nowhere, "--log-file", bench.Current));
        Assert.Contains($"--log-file: '{bench.Current}' cannot be written", bench.Error);
        Assert.False(Directory.Exists(bench.Library));
    }
}
