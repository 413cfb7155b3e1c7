using System.Globalization;
using System.Text;

namespace Acquire.Service.Braking;

/// <summary>A sheet of bench readings to fill in.</summary>
internal static class BenchTemplate
{
    private const int FirstRpm = 600;
    private const int LastRpm = 3000;
    private const int StepRpm = 300;

    private static readonly string[] Words =
    [
        "# Motor bench: a line for each reading, taken when speed and power stand still. Lines that begin with # are comments.",
        "# bare: the motor with its coupling and nothing on it, before and after the bodies, warmed up for ten minutes at least.",
        "# Other names are yours, one for each body or cover; the speeds here are only proposals: write down the speed that was there.",
        "# Fill in volts and amps, direct current at the motor's supply; or put a column power_w in their place.",
        "# Take the configurations in turn and again, not one after the other: the motor warms up, and bearings run in.",
        "# Caution: guard in place and closed; supply within reach; hands off until everything stands still.",
    ];

    /// <summary>The sheet's text.</summary>
    public static string Text()
    {
        var text = new StringBuilder();
        foreach (string line in Words) text.Append(line).Append('\n');
        text.Append("configuration,speed_rpm,volts,amps\n");
        foreach (string name in (string[])["bare", "open", "cover", "bare", "cover", "open", "bare"])
        {
            for (int rpm = FirstRpm; rpm <= LastRpm; rpm += StepRpm)
                text.Append(CultureInfo.InvariantCulture, $"{name},{rpm},,\n");
        }

        return text.ToString();
    }
}
