using System.Globalization;
using Acquire.Motion;
using Acquire.Recording;
using Acquire.Results;
using Acquire.Results.Bodies;

namespace Acquire.Service.Bodies;

/// <summary>The inertia by spin-downs with and without a ring.</summary>
/// <param name="Whole">From the whole of the time.</param>
/// <param name="RingKgM2">The ring's moment of inertia, kg m².</param>
/// <param name="URingKgM2">Its standard uncertainty.</param>
/// <param name="RingKg">The ring's mass, kg.</param>
/// <param name="Bands">From the time in each band; none where times were given and not runs.</param>
internal sealed record MeasuredInertia(RingInertia Whole, double RingKgM2, double URingKgM2, double RingKg, IReadOnlyList<RingBand> Bands);

/// <summary>One band of speed.</summary>
/// <param name="FromRpm">Its upper speed, turns a minute.</param>
/// <param name="ToRpm">Its lower.</param>
/// <param name="WithoutS">Mean time in it without the ring, s.</param>
/// <param name="WithS">Mean time with it.</param>
/// <param name="Inertia">What follows; null where it took no longer with the ring.</param>
internal sealed record RingBand(double FromRpm, double ToRpm, double WithoutS, double WithS, RingInertia? Inertia);

/// <summary>Reads the times without and with a ring, from seconds or from runs.</summary>
internal sealed class RingSpins
{
    private const int MostBands = 6;
    private readonly List<string> _problems = [];

    /// <summary>What is wrong; nothing where a result was had.</summary>
    public IReadOnlyList<string> Problems => _problems;

    /// <summary>Works out the inertia.</summary>
    /// <param name="ring">The ring.</param>
    /// <param name="without">Seconds, or runs, without it.</param>
    /// <param name="with">Seconds, or runs, with it.</param>
    /// <param name="uS">Standard uncertainties of the seconds without and with; 0 where not given.</param>
    /// <param name="fromRpm">The upper speed for runs.</param>
    /// <param name="toRpm">The lower.</param>
    /// <param name="find">Finds a run's folder, or says why not.</param>
    /// <returns>Null where something is wrong.</returns>
    public MeasuredInertia? Measure(
        Rotor ring, IReadOnlyList<string> without, IReadOnlyList<string> with, (double Without, double With) uS, double fromRpm, double toRpm,
        Func<string, (string? Folder, string? Problem)> find)
    {
        bool[] seconds = [.. without.Concat(with).Select(IsSeconds).Distinct()];
        if (seconds.Length > 1)
        {
            _problems.Add("--without, --with: found seconds and runs mixed; allowed are seconds for both, or runs for both");
            return null;
        }

        (double ringKgM2, double uRing) = (ring.InertiaAxisKgM2, ring.UInertiaAxisKgM2);
        if (seconds[0])
        {
            RingInertia? found = RingInertia.Of(ringKgM2, uRing, Times(without, uS.Without), Times(with, uS.With));
            return Whole(found, ring, []);
        }

        List<Spin>? bare = Spins("--without", without, find);
        List<Spin>? loaded = Spins("--with", with, find);
        if (bare is null || loaded is null)
            return null;
        RingInertia? all = Band(ring, bare, loaded, fromRpm, toRpm, _problems)?.Inertia;
        if (_problems.Count > 0)
            return null;
        var bands = new List<RingBand>();
        for (int i = 0; i < MostBands; i++)
        {
            double step = (fromRpm - toRpm) / MostBands;
            if (Band(ring, bare, loaded, fromRpm - (i * step), fromRpm - ((i + 1) * step), []) is { } band)
                bands.Add(band);
        }

        return Whole(all, ring, bands);
    }

    private MeasuredInertia? Whole(RingInertia? found, Rotor ring, IReadOnlyList<RingBand> bands)
    {
        if (found is not null)
            return new MeasuredInertia(found, ring.InertiaAxisKgM2, ring.UInertiaAxisKgM2, ring.MassKg, bands);
        _problems.Add("--with: it took no longer with the ring than without; expected a longer time, since the ring adds inertia. The two may be swapped, the ring may brake, or it is too light to show");
        return null;
    }

    private static bool IsSeconds(string word) => double.TryParse(word, NumberStyles.Float, CultureInfo.InvariantCulture, out double value) && value > 0 && double.IsFinite(value);

    private static List<(double, double)> Times(IReadOnlyList<string> words, double uS) =>
        [.. words.Select(w => (double.Parse(w, NumberStyles.Float, CultureInfo.InvariantCulture), uS))];

    private List<Spin>? Spins(string option, IReadOnlyList<string> runs, Func<string, (string? Folder, string? Problem)> find)
    {
        var spins = new List<Spin>();
        foreach (string run in runs)
        {
            (string? folder, string? problem) = find(run);
            if (folder is null)
            {
                _problems.Add($"{option}: {problem}");
                return null;
            }

            RunDescriptor descriptor = RunPackageReader.ReadDescriptor(folder);
            spins.Add(new Spin(option, Path.GetFileName(folder), RunPackageReader.ReadSpeed(folder), descriptor.Result.ReleaseS, descriptor.Clock.URatePpm));
        }

        return spins;
    }

    private static RingBand? Band(Rotor ring, List<Spin> without, List<Spin> with, double fromRpm, double toRpm, List<string> problems)
    {
        List<(double Seconds, double U)> bare = Times(without, fromRpm, toRpm, problems);
        List<(double Seconds, double U)> loaded = Times(with, fromRpm, toRpm, problems);
        if (bare.Count < without.Count || loaded.Count < with.Count)
            return null;
        return new RingBand(fromRpm, toRpm, bare.Average(t => t.Seconds), loaded.Average(t => t.Seconds),
            RingInertia.Of(ring.InertiaAxisKgM2, ring.UInertiaAxisKgM2, bare, loaded));
    }

    private static List<(double Seconds, double U)> Times(List<Spin> spins, double fromRpm, double toRpm, List<string> problems)
    {
        var times = new List<(double, double)>();
        foreach (Spin spin in spins)
        {
            if (DecayTime.Between(spin.Speed, spin.ReleaseS, fromRpm, toRpm, spin.URatePpm) is { } decay)
            {
                times.Add((decay.Seconds, decay.USeconds));
                continue;
            }

            double[] seen = [.. spin.Speed.Where(p => p.TimeS >= spin.ReleaseS && double.IsFinite(p.Rpm)).Select(p => p.Rpm)];
            string had = seen.Length == 0 ? "no speed" : $"{Round(seen.Max())} down to {Round(seen.Min())} rpm";
            problems.Add($"{spin.Option}: {spin.Name}: found {had}, and perhaps a gap; expected it to pass {Round(fromRpm)} and {Round(toRpm)} rpm as it slows (--from, --to)");
        }

        return times;
    }

    private static string Round(double rpm) => rpm.ToString("0.#", CultureInfo.InvariantCulture);

    private sealed record Spin(string Option, string Name, IReadOnlyList<SpeedPoint> Speed, double ReleaseS, double URatePpm);
}
