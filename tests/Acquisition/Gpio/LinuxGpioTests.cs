using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Runtime.Versioning;
using Acquire.Acquisition.Gpio;
using Microsoft.Win32.SafeHandles;
using Xunit;

namespace Acquire.Acquisition.Tests.Gpio;

/// <summary>The kernel's structures and numbers as this project has them, against linux/gpio.h of this computer (package linux-libc-dev), by a C program
/// that is compiled here.</summary>
[SupportedOSPlatform("linux")]
public sealed class LinuxGpioTests
{
    private static readonly string[] Names =
    [
        "sizeof(struct gpiochip_info)", "sizeof(struct gpio_v2_line_info)", "sizeof(struct gpio_v2_line_config)", "sizeof(struct gpio_v2_line_request)",
        "sizeof(struct gpio_v2_line_values)", "sizeof(struct gpio_v2_line_event)",
        "offsetof(struct gpiochip_info, label)", "offsetof(struct gpiochip_info, lines)",
        "offsetof(struct gpio_v2_line_info, consumer)", "offsetof(struct gpio_v2_line_info, offset)", "offsetof(struct gpio_v2_line_info, flags)",
        "offsetof(struct gpio_v2_line_request, consumer)", "offsetof(struct gpio_v2_line_request, config)", "offsetof(struct gpio_v2_line_request, num_lines)",
        "offsetof(struct gpio_v2_line_request, event_buffer_size)", "offsetof(struct gpio_v2_line_request, fd)",
        "offsetof(struct gpio_v2_line_values, mask)",
        "offsetof(struct gpio_v2_line_event, id)", "offsetof(struct gpio_v2_line_event, offset)", "offsetof(struct gpio_v2_line_event, seqno)",
        "offsetof(struct gpio_v2_line_event, line_seqno)",
        "GPIO_GET_CHIPINFO_IOCTL", "GPIO_V2_GET_LINEINFO_IOCTL", "GPIO_V2_GET_LINE_IOCTL", "GPIO_V2_LINE_GET_VALUES_IOCTL",
        "GPIO_V2_LINE_FLAG_USED", "GPIO_V2_LINE_FLAG_INPUT", "GPIO_V2_LINE_FLAG_EDGE_RISING", "GPIO_V2_LINE_FLAG_EDGE_FALLING",
        "GPIO_V2_LINE_FLAG_BIAS_PULL_UP", "GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN", "GPIO_V2_LINE_FLAG_BIAS_DISABLED",
        "GPIO_V2_LINE_EVENT_RISING_EDGE", "GPIO_V2_LINE_EVENT_FALLING_EDGE", "GPIO_MAX_NAME_SIZE",
    ];

    [Fact]
    public void Sizes_places_and_numbers_are_those_of_the_kernels_header()
    {
        string[] header = FromHeader();
        Assert.Equal(Names.Zip(header, (name, value) => $"{name} = {value}"), Names.Zip(Ours(), (name, value) => $"{name} = {value}"));
    }

    [Fact]
    public void A_structure_of_another_size_than_the_calls_never_reaches_the_kernel()
    {
        var values = default(LinuxGpio.LineValues);
        using var nothing = new SafeFileHandle(-1, ownsHandle: false);
        Assert.Throws<InvalidOperationException>(() => LinuxGpio.Call(nothing, LinuxGpio.GetLine, ref values));
    }

    private static unsafe ulong[] Ours()
    {
        var chip = default(LinuxGpio.ChipInfo);
        var line = default(LinuxGpio.LineInfo);
        var request = default(LinuxGpio.LineRequest);
        var values = default(LinuxGpio.LineValues);
        var edge = default(LinuxGpio.LineEvent);
        return
        [
            (ulong)Unsafe.SizeOf<LinuxGpio.ChipInfo>(), (ulong)Unsafe.SizeOf<LinuxGpio.LineInfo>(), (ulong)Unsafe.SizeOf<LinuxGpio.LineConfig>(),
            (ulong)Unsafe.SizeOf<LinuxGpio.LineRequest>(), (ulong)Unsafe.SizeOf<LinuxGpio.LineValues>(), (ulong)Unsafe.SizeOf<LinuxGpio.LineEvent>(),
            Place(&chip, chip.Label), Place(&chip, &chip.Lines),
            Place(&line, line.Consumer), Place(&line, &line.Offset), Place(&line, &line.Flags),
            Place(&request, request.Consumer), Place(&request, &request.Config), Place(&request, &request.LineCount),
            Place(&request, &request.EventBufferSize), Place(&request, &request.Descriptor),
            Place(&values, &values.Mask),
            Place(&edge, &edge.Id), Place(&edge, &edge.Offset), Place(&edge, &edge.SequenceNumber), Place(&edge, &edge.LineSequenceNumber),
            LinuxGpio.GetChipInfo, LinuxGpio.GetLineInfo, LinuxGpio.GetLine, LinuxGpio.GetValues,
            LinuxGpio.Used, LinuxGpio.Input, LinuxGpio.EdgeRising, LinuxGpio.EdgeFalling,
            LinuxGpio.BiasPullUp, LinuxGpio.BiasPullDown, LinuxGpio.BiasDisabled,
            LinuxGpio.RisingEvent, LinuxGpio.FallingEvent, LinuxGpio.NameBytes,
        ];
    }

    private static unsafe ulong Place(void* from, void* field) => (ulong)((byte*)field - (byte*)from);

    private static string[] FromHeader()
    {
        string folder = Directory.CreateTempSubdirectory("acquire-gpio-").FullName;
        try
        {
            string program = Path.Combine(folder, "header");
            File.WriteAllText(
                program + ".c",
                "#include <linux/gpio.h>\n#include <stddef.h>\n#include <stdio.h>\nint main(void)\n{\n"
                + string.Concat(Names.Select(name => $"    printf(\"%llu\\n\", (unsigned long long)({name}));\n")) + "    return 0;\n}\n");
            Run("gcc", "-o", program, program + ".c");
            return Run(program).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static string Run(string program, params string[] arguments)
    {
        using Process process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        string said = process.StandardOutput.ReadToEnd();
        string wrong = process.StandardError.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, wrong);
        return said;
    }
}
