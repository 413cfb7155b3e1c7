using System.Text.Json;
using Acquire.Conditioning;
using Acquire.Motion;

namespace Acquire.Recording.Tests;

public sealed class PackageRoundTripTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void A_run_that_is_written_is_the_run_that_is_read()
    {
        int number = 0;
        Runs.Any.ForEach(150, seed: 44, run =>
        {
            string folder = RunPackageWriter.Write(_folder.At($"{number++}"), run);
            Assert.Equal(Text(run.Descriptor), Text(RunPackageReader.ReadDescriptor(folder)));
            AssertPulses(run, RunPackageReader.ReadPulses(folder));
            AssertSpeed(run.Speed, RunPackageReader.ReadSpeed(folder));
            Assert.Equal(run.Events, RunPackageReader.ReadEvents(folder));
            Assert.Empty(RunVerifier.Verify(folder));
        });
    }

    [Fact]
    public void Pulses_come_back_the_same_whatever_piece_of_the_file_they_fall_into()
    {
        // 400,000 rows of up to 60 bytes: several of the pieces in which the file is read.
        var pulses = new List<JudgedPulse>();
        long ticks = 0;
        for (int i = 0; i < 400_000; i++)
        {
            ticks += 1 + (i * 2_654_435_761L % 100_000);
            bool extra = i % 13 == 5;
            pulses.Add(new JudgedPulse(ticks, (uint)(i % 5 * 37), extra ? PulseKind.Extra : PulseKind.Mark, extra ? (short)-1 : (short)(i % 3), i / 3.0));
        }

        FinishedRun run = Runs.Make(pulses, 5.0000001e-7, [], [], new RunSetup());
        string folder = RunPackageWriter.Write(_folder.Root, run);
        Assert.True(new FileInfo(Path.Combine(folder, "pulses.csv")).Length > 3 * (4 << 20));
        AssertPulses(run, RunPackageReader.ReadPulses(folder));
    }

    [Fact]
    public void Files_are_as_the_format_says_to_the_byte()
    {
        string folder = RunPackageWriter.Write(_folder.Root, Runs.Small());
        string[] pulses = File.ReadAllText(Path.Combine(folder, "pulses.csv")).Split('\n');
        Assert.Equal("time_s,ticks,kind,mark,turns,width_s", pulses[0]);
        Assert.Equal("0.000000000,1000000,mark,0,0.000000,0.000450000", pulses[1]);
        Assert.Equal("0.020004000,1040008,mark,1,0.500000,0.000450500", pulses[2]);
        Assert.Equal("4.162500000,9325000,extra,,100.060000,", pulses[202]);
        Assert.Equal("", pulses[402]);
        Assert.Equal(
            "time_s,rpm,u_rpm,decel_rpm_s,u_decel_rpm_s\n0.000,1500.000,0.2500,0.000,0.1250\n1.000,,,,\n2.000,1409.0625,0.03100,45.50000,0.002100\n",
            File.ReadAllText(Path.Combine(folder, "speed.csv")));
        Assert.Equal(
            "time_s,event,detail\n0.000,launch,\n0.500,signal lost,\"hand before the sensor, \"\"twice\"\"\"\n1.250,signal back,\"two\nlines\"\n8.6184,stop,\n",
            File.ReadAllText(Path.Combine(folder, "events.csv")));
    }

    [Fact]
    public void A_list_that_is_neither_array_nor_list_is_written_alike()
    {
        FinishedRun run = Runs.Small();
        string first = RunPackageWriter.Write(_folder.Root, run);
        FinishedRun other = Runs.Make(
            new System.Collections.ObjectModel.ReadOnlyCollection<JudgedPulse>([.. run.Pulses]), run.SecondsPerTick, run.Speed, run.Events, run.Descriptor.Setup);
        string second = RunPackageWriter.Write(_folder.Root, other);
        Assert.Equal(File.ReadAllBytes(Path.Combine(first, "pulses.csv")), File.ReadAllBytes(Path.Combine(second, "pulses.csv")));
    }

    private static string Text(RunDescriptor descriptor) => JsonSerializer.Serialize(descriptor, RunJson.Run);

    private static void AssertPulses(FinishedRun run, RunPulses read)
    {
        Assert.Equal(run.Pulses.Count, read.Count);
        for (int i = 0; i < read.Count; i++)
        {
            JudgedPulse pulse = run.Pulses[i];
            Assert.Equal(pulse.Ticks, read.Ticks[i]);
            Assert.Equal(pulse.Kind, read.Kind[i]);
            Assert.Equal(pulse.Mark, read.Mark[i]);
            Assert.InRange(read.Turns[i] - pulse.Turns, -5.1e-7, 5.1e-7);
            double timeS = (double)((decimal)(pulse.Ticks - run.Pulses[0].Ticks) * (decimal)run.SecondsPerTick);
            Assert.InRange(read.TimeS[i] - timeS, -5.1e-10 - (timeS * 1e-14), 5.1e-10 + (timeS * 1e-14));
            if (pulse.WidthTicks == 0)
                Assert.Equal(double.NaN, read.WidthS[i]);
            else
                Assert.InRange(read.WidthS[i] - (pulse.WidthTicks * run.SecondsPerTick), -5.1e-10, 5.1e-10);
        }
    }

    private static void AssertSpeed(IReadOnlyList<SpeedPoint> written, IReadOnlyList<SpeedPoint> read)
    {
        Assert.Equal(written.Count, read.Count);
        for (int i = 0; i < read.Count; i++)
        {
            Assert.Equal(written[i].TimeS, read[i].TimeS);
            AssertNear(written[i].Rpm, read[i].Rpm, written[i].URpm);
            AssertNear(written[i].URpm, read[i].URpm, written[i].URpm);
            AssertNear(written[i].DecelRpmPerS, read[i].DecelRpmPerS, written[i].UDecelRpmPerS);
            AssertNear(written[i].UDecelRpmPerS, read[i].UDecelRpmPerS, written[i].UDecelRpmPerS);
        }
    }

    /// <summary>Within a hundredth of the uncertainty, or 1e-6 where it is not known.</summary>
    private static void AssertNear(double written, double read, double uncertainty)
    {
        double near = double.IsNaN(uncertainty) ? 1e-6 : uncertainty / 100;
        if (double.IsNaN(written))
            Assert.Equal(double.NaN, read);
        else
            Assert.InRange(read - written, -near, near);
    }
}
