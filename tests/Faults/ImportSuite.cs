using System.Globalization;
using System.Text;
using Acquire.Recording;

namespace Acquire.Faults;

/// <summary>Files to import of which lines were spoilt, or all of it: a few spoilt lines cost themselves and at most the seconds around them, anything is answered.</summary>
internal static class ImportSuite
{
    private const int WholeCases = 1000;
    private const int SampleCases = 40;
    private const int MostSpoilt = 30;
    private const double PeakTurnsPerS = 20;
    private const double TauS = 60;
    private static readonly string[] Junk = ["", "x", "-1", "1e99", "1e999", "NaN", "1,5", ";;;", "\"", "#", "0x10", "\u0000", "9223372036854775808", "1.2.3", "   "];

    public static void Break(Extent extent, Tally tally)
    {
        string[] sound = [.. Marks().Select(t => t.ToString("F6", CultureInfo.InvariantCulture))];
        Parallel.ForEach(extent.Seeds(WholeCases, SampleCases), seed => tally.Count($"seed {seed}", seed % 3 == 0 ? Ruined(sound, seed) : Spoilt(sound, seed)));
    }

    private static List<string> Spoilt(string[] sound, int seed)
    {
        var random = new Random(seed);
        string[] lines = [.. sound];
        for (int i = random.Next(1, MostSpoilt); i > 0; i--)
            Spoil(lines, random);
        var wrong = new List<string>();
        using var scratch = new Scratch();
        File.WriteAllText(scratch.At("p.csv"), "t\n" + string.Join('\n', lines) + "\n");
        Called import = Import(scratch, "pulses").Expect(wrong, "import", 0);
        if (wrong.Count > 0)
            return wrong;
        string run = import.Out.TrimEnd('\n').Split('\n')[^1];
        Called.Acquire(scratch.Folder, "verify", run).Expect(wrong, "verify", 0);
        RunDescriptor descriptor = RunPackageReader.ReadDescriptor(run);
        double firstS = Marks().First() + (RunPackageReader.ReadPulses(run).Ticks[0] * 1e-9);
        double[] off = [.. RunPackageReader.ReadSpeed(run).Where(p => p.TimeS is > 30 and < 150 && double.IsFinite(p.Rpm))
            .Select(p => Math.Abs((p.Rpm / (60 * PeakTurnsPerS * Math.Exp(-(p.TimeS + firstS - 2) / TauS))) - 1))];

        // A moment written into a gap can pass for the mark that is gone there, and moves the speed of the seconds around it.
        if (off.Length < 100 || off.Count(share => share > 0.005) > 0.02 * off.Length)
            wrong.Add($"{off.Count(share => share > 0.005)} of {off.Length} speeds are more than 0.5 % off");
        if (descriptor.Counts.Received + descriptor.Counts.BadLines < sound.Length - (2 * MostSpoilt))
            wrong.Add($"{descriptor.Counts.Received} pulses and {descriptor.Counts.BadLines} bad lines of {sound.Length}");
        return wrong;
    }

    private static List<string> Ruined(string[] sound, int seed)
    {
        var random = new Random(seed);
        byte[] bytes = Encoding.UTF8.GetBytes("t;v\n" + string.Join(";7\n", sound));
        for (int i = random.Next(1, 200); i > 0; i--)
            bytes[random.Next(bytes.Length)] = (byte)random.Next(256);
        var wrong = new List<string>();
        using var scratch = new Scratch();
        File.WriteAllBytes(scratch.At("p.csv"), bytes[..random.Next(bytes.Length)]);
        string kind = random.Next(3) switch { 0 => "pulses", 1 => "intervals", _ => "speed" };
        Called import = Import(scratch, kind).Expect(wrong, "import " + kind, 0, 2);
        if (import.Code == 2 && !import.Error.Contains("acquire import: ", StringComparison.Ordinal))
            wrong.Add($"import did not say why not: {import.Error}");
        if (import.Code == 0)
            Called.Acquire(scratch.Folder, "verify", import.Out.TrimEnd('\n').Split('\n')[^1]).Expect(wrong, "verify", 0);
        return wrong;
    }

    private static Called Import(Scratch scratch, string kind) => Called.Acquire(
        scratch.Folder, ["import", scratch.At("p.csv"), "--kind", kind, "--time-column", "1", "--library", scratch.At("lib"), .. kind == "speed" ? new[] { "--value-column", "2" } : []]);

    private static void Spoil(string[] lines, Random random)
    {
        int at = random.Next(60, lines.Length - 1); // after the launch: whether the first line or the second is wrong nobody can tell
        lines[at] = random.Next(4) switch
        {
            0 => Junk[random.Next(Junk.Length)],
            1 => lines[random.Next(lines.Length)],
            2 => lines[at - 1],
            _ => lines[at][..random.Next(lines[at].Length)],
        };
    }

    // Launched in two seconds; then the speed falls by e in a minute.
    private static IEnumerable<double> Marks()
    {
        const double EndS = 240;
        for (int k = 1; ; k++)
        {
            double t = k <= PeakTurnsPerS ? 2 * Math.Sqrt(k / PeakTurnsPerS) : 2 - (TauS * Math.Log(1 - ((k - PeakTurnsPerS) / (PeakTurnsPerS * TauS))));
            if (!(t < EndS))
                yield break;
            yield return t;
        }
    }
}
