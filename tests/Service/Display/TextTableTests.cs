using Acquire.Service.Display;
using Spectre.Console.Testing;

namespace Acquire.Service.Tests.Display;

public sealed class TextTableTests
{
    private readonly TextTable _table = new("run", "top", "cover", "peak/rpm");

    public TextTableTests()
    {
        _table.AlignRight("peak/rpm");
        _table.Add("20270314T092653Z-oak-rim", "oak\nrim", "", "3012.0");
        _table.Add("20270315T092653Z-brass", "brass", "", "900");
    }

    [Fact]
    public void On_a_wide_terminal_it_stands_in_columns_without_those_that_are_empty() => Assert.Equal(
        [
            "run                       top      peak/rpm",
            "20270314T092653Z-oak-rim  oak rim    3012.0",
            "20270315T092653Z-brass    brass         900",
        ],
        Fitted(60));

    [Fact]
    public void On_a_narrow_terminal_each_row_has_its_name_whole_and_the_rest_below() => Assert.Equal(
        [
            "20270314T092653Z-oak-rim",
            "  top oak rim",
            "  peak/rpm 3012.0",
            "20270315T092653Z-brass",
            "  top brass  peak/rpm 900",
        ],
        Fitted(29));

    private string[] Fitted(int columns)
    {
        using var console = new TestConsole();
        console.Profile.Width = columns;
        _table.WriteFitted(console);
        return [.. console.Output.TrimEnd('\n').Split('\n').Select(l => l.TrimEnd())];
    }
}
