using Acquire.Service.Display;

namespace Acquire.Service.Tests.Display;

public sealed class NumbersTests
{
    [Theory]
    [InlineData(1873.4123, 0.23, "1873.41")]
    [InlineData(1873.4123, 2.3, "1873.4")]
    [InlineData(1873.4123, 23, "1873")]
    [InlineData(1873.4123, 1e-9, "1873.412")]
    [InlineData(1873.4123, double.NaN, "1873")]
    [InlineData(3.2, double.NaN, "3.200")]
    [InlineData(0, double.NaN, "0.000")]
    [InlineData(double.NaN, 1, "–")]
    public void A_value_has_the_digits_that_its_uncertainty_warrants(double value, double u, string text) =>
        Assert.Equal(text, Numbers.Measured(value, u));

    [Theory]
    [InlineData(0, "0:00:00")]
    [InlineData(59.99, "0:00:59")]
    [InlineData(5369.1, "1:29:29")]
    [InlineData(360_000, "100:00:00")]
    [InlineData(double.NaN, "–")]
    public void A_time_is_in_hours_minutes_and_whole_seconds(double seconds, string text) => Assert.Equal(text, Numbers.Clock(seconds));

    [Theory]
    [InlineData(59.96, "0:01:00.0")]
    [InlineData(5369.12, "1:29:29.1")]
    [InlineData(0.05, "0:00:00.0")]
    [InlineData(2.95, "0:00:03.0")]
    public void Tenths_are_rounded_before_seconds_are_split_off(double seconds, string text) =>
        Assert.Equal(text, Numbers.ClockTenths(seconds));

    [Theory]
    [InlineData(0.234, "0.23")]
    [InlineData(23.4, "23")]
    [InlineData(0.00012, "<0.001")]
    [InlineData(0, "0")]
    [InlineData(double.NaN, "–")]
    public void An_uncertainty_has_two_digits_and_is_never_rounded_to_nothing(double u, string text) =>
        Assert.Equal(text, Numbers.Uncertainty(u));

    [Fact]
    public void Big_digits_are_lines_of_one_length_and_differ_for_each_digit()
    {
        var seen = new HashSet<string>();
        foreach (char digit in "0123456789.–")
        {
            string[] lines = BigDigits.Draw(digit.ToString());
            Assert.Equal(BigDigits.Lines, lines.Length);
            Assert.Single(lines.Select(l => l.Length).Distinct());
            Assert.True(seen.Add(string.Join('\n', lines)));
        }
    }
}
