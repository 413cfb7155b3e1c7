using System.Globalization;
using System.Text.Json;
using Acquire.Terminals;
using Xunit;

namespace Acquire.Browser.Tests;

/// <summary>An invented spin of a body with many marks, played to a service pulse by pulse, and how long its pulses take to be seen.</summary>
internal static class PlayedSpin
{
    private const int PulsesPerS = 1040; // at the top
    private const int Marks = 8;
    private const double LaunchS = 0.7;
    private const double DecayS = 600;
    private const int Seconds = 60;
    private const int TickHz = 1_000_000;

    // States are told at the beginning of a frame, so a message comes after it is laid out: notes how many pulses it had counted and when that was.
    /// <summary>A function that notes in <c>window.shown</c> how many pulses a state had counted and when it was drawn.</summary>
    public const string Watch = """
        () => import('/live.js').then(({ live }) => {
            window.shown = [];
            live.addEventListener('live', e => {
                const drawn = new MessageChannel();
                drawn.port1.onmessage = () => window.shown.push([e.detail.pulses, Date.now()]);
                drawn.port2.postMessage(0);
            });
        })
        """;

    /// <summary>What the service has to know of it.</summary>
    public static string[] Arguments(PseudoTerminal terminal) =>
        ["--port", terminal.PortPath, "--format", "ticks", "--tick-hz", $"{TickHz}", "--marks", $"{Marks}"];

    // An invented spin of a body with many marks: launched in a moment, then slowing as in air.
    private static List<double> Spin()
    {
        var dueS = new List<double>();
        for (double s = LaunchS / 10; s < Seconds; s += 1 / (PulsesPerS * Math.Min(s / LaunchS, 1) * Math.Exp(-s / DecayS))) dueS.Add(s);
        return dueS;
    }

    /// <summary>Plays it.</summary>
    /// <returns>When each pulse was written, ms since 1970.</returns>
    public static double[] Play(PseudoTerminal terminal)
    {
        using var never = new ManualResetEventSlim();
        List<double> spin = Spin();
        var sentMs = new double[spin.Count];
        long began = TimeProvider.System.GetTimestamp();
        for (int i = 0; i < sentMs.Length; i++)
        {
            while (TimeProvider.System.GetElapsedTime(began).TotalSeconds < spin[i]) never.Wait(1);
            sentMs[i] = (TimeProvider.System.GetUtcNow() - DateTimeOffset.UnixEpoch).TotalMilliseconds;
            terminal.Write(string.Create(CultureInfo.InvariantCulture, $"{(long)(spin[i] * TickHz)}\n"));
        }

        return sentMs;
    }

    /// <summary>Writes how long pulses took; none may be lost.</summary>
    /// <param name="what">What was measured.</param>
    /// <param name="sentMs">What <see cref="Play"/> gave.</param>
    /// <param name="shown">What <see cref="Watch"/> noted.</param>
    /// <param name="live">The service's last state, as JSON.</param>
    public static void Report(string what, double[] sentMs, JsonElement shown, string live)
    {
        var delaysMs = new List<double>();
        int told = 0;
        foreach (JsonElement frame in shown.EnumerateArray())
            for (; told < frame[0].GetInt32() && told < sentMs.Length; told++) delaysMs.Add(frame[1].GetDouble() - sentMs[told]);
        delaysMs.Sort();
        double At(double share) => delaysMs[(int)(share * (delaysMs.Count - 1))];
        JsonElement last = JsonDocument.Parse(live).RootElement;
        Assert.Equal("spinning", last.GetProperty("phase").GetString());
        TestContext.Current.TestOutputHelper!.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{what}: {last.GetProperty("pulses").GetInt64()} of {sentMs.Length} pulses received, {last.GetProperty("losses").GetRawText()}; pulse to drawn frame: median {At(0.5):F0} ms, 95 % {At(0.95):F0} ms, 99 % {At(0.99):F0} ms, longest {At(1):F0} ms, {shown.GetArrayLength()} frames"));
        Assert.Equal(sentMs.Length, last.GetProperty("pulses").GetInt64());
    }
}
