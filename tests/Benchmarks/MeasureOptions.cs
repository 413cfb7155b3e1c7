using System.Globalization;

namespace Acquire.Benchmarks;

/// <summary>Options of the measurements made by hand.</summary>
/// <param name="Pulses">Pulses of the invented spin.</param>
/// <param name="Repeats">Times each thing is measured.</param>
/// <param name="BoardCore">Core that the thread which plays the board is kept on; −1 for any.</param>
/// <param name="Folder">Where journals and packages go for the time being.</param>
internal sealed record MeasureOptions(int Pulses, int Repeats, int BoardCore, string Folder)
{
    private const int LeastPulses = 100_000;

    /// <summary>Reads the options.</summary>
    /// <param name="options">Names and values in turn.</param>
    /// <param name="pulses">Pulses where none are asked for.</param>
    /// <exception cref="ArgumentException">An option is not known or has no number.</exception>
    internal static MeasureOptions Parse(string[] options, int pulses)
    {
        var read = new MeasureOptions(pulses, 3, -1, Path.GetTempPath());
        for (int i = 0; i < options.Length; i += 2)
        {
            string value = i + 1 < options.Length ? options[i + 1] : throw new ArgumentException($"{options[i]} needs a value.");
            read = options[i] switch
            {
                "--pulses" => read with { Pulses = Number(value) },
                "--repeats" => read with { Repeats = Number(value) },
                "--board-core" => read with { BoardCore = Number(value) },
                "--folder" => read with { Folder = value },
                _ => throw new ArgumentException($"There is no option {options[i]}."),
            };
        }

        if (read.Pulses < LeastPulses || read.Repeats < 1)
            throw new ArgumentException($"At least {LeastPulses} pulses and 1 repeat are needed.");
        return read;
    }

    private static int Number(string text) =>
        int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int number)
            ? number
            : throw new ArgumentException($"'{text}' is no whole number.");
}
