using Acquire.Acquisition;
using Acquire.Acquisition.Gpio;
using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Commands;

public sealed class GpioCallTests
{
    [Theory]
    [InlineData("--gpio: 'bench' on the command line; allowed is CHIP:LINE, such as pinctrl-rp1:GPIO17 or 0:17, or list", "--gpio", "bench")]
    [InlineData("--gpio: '0:17' on the command line; allowed is a port or a GPIO line, and --port is 'a'", "--gpio", "0:17", "--port", "a")]
    [InlineData("--clock: 'board' on the command line; allowed is host with --gpio, whose edges this computer's own clock stamps", "--gpio", "0:17", "--clock", "board")]
    [InlineData("--time-scale: '2' on the command line; allowed is 1 with --gpio", "--gpio", "0:17", "--time-scale", "2")]
    [InlineData("--gpio-edge: 'both' on the command line; allowed is falling or rising", "--gpio", "0:17", "--gpio-edge", "both")]
    [InlineData("--gpio-bias: 'up' on the command line; allowed is pull-up, pull-down or none", "--gpio", "0:17", "--gpio-bias", "up")]
    public void A_wrong_call_is_told_with_what_is_allowed(string said, params string[] words)
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run(["capture", .. words]));
        Assert.Equal("acquire capture: " + said, bench.Error.Split('\n')[0]);
        Assert.False(Directory.Exists(bench.Library));
    }

    [Theory]
    [InlineData("capture", "--wait", "false")]
    [InlineData("sensor")]
    public void A_chip_that_is_not_there_is_a_wrong_call(params string[] words)
    {
        using var bench = new Bench();
        Assert.Equal(2, bench.Run([.. words, "--gpio", "acquire-no-such-chip:3"]));
        Assert.Contains($"acquire {words[0]}: GPIO chip acquire-no-such-chip is not there. ", bench.Error, StringComparison.Ordinal);
        Assert.Equal("", bench.Out);
    }

    [Fact]
    public void The_source_of_the_later_layer_takes_the_place_of_the_earlier_ones()
    {
        using var bench = new Bench();
        File.WriteAllText(Path.Combine(bench.Current, "appsettings.json"), """{"Capture":{"Port":"/dev/acquire-no-such-port"}}""");
        Assert.Equal(2, bench.Run("capture", "--gpio", "acquire-no-such-chip:3", "--wait", "false"));
        Assert.Contains("GPIO chip acquire-no-such-chip is not there.", bench.Error, StringComparison.Ordinal);

        using var other = new Bench();
        File.WriteAllText(Path.Combine(other.Current, "appsettings.json"), """{"Capture":{"Gpio":"acquire-no-such-chip:3"}}""");
        Assert.Equal(2, other.Run("sensor", "--port", "/dev/acquire-no-such-port"));
        Assert.Contains("Port /dev/acquire-no-such-port is not there.", other.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void The_list_names_lines_and_who_holds_them_and_what_may_not_be_seen()
    {
        using var bench = new Bench();
        GpioChip[] chips =
        [
            new("/dev/gpiochip0", "gpiochip0", "bench", [new(0, "", "", false), new(1, "mark", "fan", true), new(2, "", "", true)]),
            new("/dev/gpiochip1", "gpiochip1", "", [], new LinkProblem(LinkProblemKind.Denied, "GPIO chip /dev/gpiochip1 may not be opened by this user. Join group gpio.")),
        ];
        Assert.Equal(0, GpioList.Print(bench.Surroundings, chips));
        Assert.Equal(
            "chip       label  line  name  held by\ngpiochip0  bench     0  -     -\ngpiochip0  bench     1  mark  fan\ngpiochip0  bench     2  -     not told\n",
            bench.Out);
        Assert.Equal("acquire: GPIO chip /dev/gpiochip1 may not be opened by this user. Join group gpio.\n", bench.Error);

        using var none = new Bench();
        Assert.Equal(1, GpioList.Print(none.Surroundings, []));
        Assert.Equal("", none.Out);
        Assert.Contains("no GPIO chip is here", none.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void The_settings_say_how_the_line_is_asked_for()
    {
        var options = new CaptureOptions { Gpio = "a:b", GpioEdge = "rising", GpioWidths = true, GpioBias = "none" };
        Assert.Equal(new GpioSettings { Line = "a:b", Edge = GpioEdge.Rising, Widths = true, Bias = GpioBias.None }, options.GpioLine());
        Assert.Equal("gpio-rising-widths", options.SourceFormat());
        Assert.Equal(new GpioSettings { Line = "a:b", Edge = GpioEdge.Falling, Bias = GpioBias.PullUp }, new CaptureOptions { Gpio = "a:b" }.GpioLine());
        Assert.Equal("pulse-lines", new CaptureOptions { Port = "p" }.SourceFormat());
    }
}
