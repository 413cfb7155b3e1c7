using Acquire.Acquisition.Gpio;
using Xunit;

namespace Acquire.Acquisition.Tests.Gpio;

public sealed class GpioFinderTests
{
    private static readonly GpioChip Bench = Chip(0, "bench", "", "mark", "spare");
    private static readonly GpioChip Header = Chip(4, "pinctrl-rp1", "ID_SDA", "GPIO17", "7") with { Aliases = ["/dev/gpiochip9"] };
    private static readonly GpioChip Colon = Chip(5, "sim:node0", "x");

    [Theory]
    [InlineData("bench:mark", 0, 1)]
    [InlineData("bench:1", 0, 1)]
    [InlineData("gpiochip0:2", 0, 2)]
    [InlineData("/dev/gpiochip4:GPIO17", 4, 1)]
    [InlineData("4:0", 4, 0)]
    [InlineData("9:0", 4, 0)] // a link that a distribution makes to an old number
    [InlineData("gpiochip9:ID_SDA", 4, 0)]
    [InlineData("pinctrl-rp1:7", 4, 2)] // a name goes before a number
    [InlineData("sim:node0:x", 5, 0)]
    public void A_line_is_found_by_label_name_number_or_path_of_its_chip_and_by_its_own_name_or_number(string wanted, int number, int offset)
    {
        (GpioChip chip, GpioLineInfo line) = GpioFinder.Find(wanted, null, [Bench, Header, Colon], out LinkProblem? problem)!.Value;
        Assert.Equal(($"gpiochip{number}", offset), (chip.Name, line.Offset));
        Assert.Null(problem);
    }

    [Theory]
    [InlineData("nowhere:3", LinkProblemKind.NotThere, "GPIO chip nowhere is not there. There are: gpiochip0 (bench), gpiochip4 (pinctrl-rp1).")]
    [InlineData("bench:17", LinkProblemKind.Settings, "GPIO chip gpiochip0 (bench) has no line 17. It has the lines 0 to 2, named mark, spare.")]
    [InlineData("0:GPIO17", LinkProblemKind.Settings, "GPIO chip gpiochip0 (bench) has no line GPIO17. It has the lines 0 to 2, named mark, spare.")]
    public void What_is_not_there_is_said_with_what_is(string wanted, LinkProblemKind kind, string said)
    {
        Assert.Null(GpioFinder.Find(wanted, null, [Bench, Header], out LinkProblem? problem));
        Assert.Equal(new LinkProblem(kind, said), problem);
    }

    [Fact]
    public void Two_of_one_name_are_not_guessed_between()
    {
        Assert.Null(GpioFinder.Find("bench:mark", null, [Bench, Chip(7, "bench", "mark")], out LinkProblem? problem));
        Assert.Equal("Several GPIO chips are called bench: gpiochip0 (bench), gpiochip7 (bench). Name one by its number.", problem!.Message);
        Assert.Null(GpioFinder.Find("bench:a", null, [Chip(0, "bench", "a", "a")], out problem));
        Assert.Equal("Several lines of GPIO chip gpiochip0 (bench) are called a: 0, 1. Name one by its number.", problem!.Message);
    }

    [Fact]
    public void No_chip_at_all_is_said_to_be_none()
    {
        Assert.Null(GpioFinder.Find("0:17", null, [], out LinkProblem? problem));
        Assert.Equal("GPIO chip 0 is not there. No GPIO chip is: this computer has none, or its driver is not loaded.", problem!.Message);
    }

    [Fact]
    public void A_chip_that_came_back_under_another_number_is_found_by_its_label_and_another_with_its_old_number_is_not_taken_for_it()
    {
        GpioChip taker = Chip(4, "taker", "GPIO17", "GPIO17");
        GpioChip back = Chip(6, "pinctrl-rp1", "ID_SDA", "GPIO17");
        Assert.Equal("gpiochip6", GpioFinder.Find("gpiochip4:GPIO17", "pinctrl-rp1", [taker, back], out _)!.Value.Chip.Name);
        Assert.Null(GpioFinder.Find("gpiochip4:GPIO17", "pinctrl-rp1", [taker], out LinkProblem? problem));
        Assert.Equal(LinkProblemKind.NotThere, problem!.Kind);
    }

    [Fact]
    public void Of_several_with_one_label_the_number_tells_after_a_return()
    {
        GpioChip[] twins = [Chip(1, "bench", "mark"), Chip(2, "bench", "mark")];
        Assert.Equal("gpiochip2", GpioFinder.Find("2:mark", "bench", twins, out _)!.Value.Chip.Name);
    }

    [Fact]
    public void Where_chips_may_not_be_opened_that_is_said()
    {
        LinkProblem denied = GpioProblem.ChipRefused("/dev/gpiochip0", LinuxCalls.ErrorAccess);
        GpioChip shut = new("/dev/gpiochip0", "gpiochip0", "", [], denied);
        foreach (string wanted in (string[])["bench:mark", "0:1"])
        {
            Assert.Null(GpioFinder.Find(wanted, null, [shut], out LinkProblem? problem));
            Assert.Same(denied, problem);
        }

        Assert.Equal(LinkProblemKind.Denied, denied.Kind);
        Assert.StartsWith("GPIO chip /dev/gpiochip0 may not be opened by this user. ", denied.Message);
        Assert.Equal("Join group gpio: sudo usermod -aG gpio $USER, then log in again.", LinkProblem.HowToGetIn("gpio"));
    }

    [Theory]
    [InlineData(16, LinkProblemKind.Busy, "Line 1 (mark) of GPIO chip gpiochip0 (bench) is held by 'fan'. End that, or choose another line.")]
    [InlineData(6, LinkProblemKind.WrongKind, "Line 1 (mark) of GPIO chip gpiochip0 (bench) cannot tell edges: the chip has no interrupt for it. Choose another line.")]
    [InlineData(22, LinkProblemKind.WrongKind, "/dev/gpiochip0 does not answer as a GPIO chip of Linux 5.10 or later does (Invalid argument).")]
    [InlineData(12, LinkProblemKind.Failed, "Line 1 (mark) of GPIO chip gpiochip0 (bench) could not be had: Cannot allocate memory.")]
    public void Each_refusal_of_the_kernel_has_its_words(int error, LinkProblemKind kind, string said) =>
        Assert.Equal(new LinkProblem(kind, said), GpioProblem.LineRefused(Bench, new GpioLineInfo(1, "mark", "fan", true), error));

    [Theory]
    [InlineData("a:b", true)]
    [InlineData("sim:node0:x", true)]
    [InlineData("a", false)]
    [InlineData(":b", false)]
    [InlineData("a:", false)]
    [InlineData("a:b\n", false)]
    public void A_line_is_named_by_chip_and_line(string text, bool isLine) => Assert.Equal(isLine, GpioSettings.IsLine(text));

    private static GpioChip Chip(int number, string label, params string[] names) =>
        new($"/dev/gpiochip{number}", $"gpiochip{number}", label, [.. names.Select((name, offset) => new GpioLineInfo(offset, name, "", false))]);
}
