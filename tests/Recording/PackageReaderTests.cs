using System.Text;
using CsCheck;

namespace Acquire.Recording.Tests;

public sealed class PackageReaderTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly string _run;

    public PackageReaderTests() => _run = RunPackageWriter.Write(_folder.Root, Runs.Small());

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("0.5,1,mark,0,0.5", "line 3", "turns")]
    [InlineData("0.5,1,mark,0,0.5,,", "line 3", "width_s")]
    [InlineData("x,1,mark,0,0.5,", "line 3", "time_s")]
    [InlineData(",1,mark,0,0.5,", "line 3", "time_s")]
    [InlineData("0.5,1.5,mark,0,0.5,", "line 3", "ticks")]
    [InlineData("0.5,9223372036854775808,mark,0,0.5,", "line 3", "ticks")]
    [InlineData("0.5,1,marks,0,0.5,", "line 3", "kind")]
    [InlineData("0.5,1,mark,,0.5,", "line 3", "mark")]
    [InlineData("0.5,1,mark,-1,0.5,", "line 3", "mark")]
    [InlineData("0.5,1,extra,0,0.5,", "line 3", "no mark")]
    [InlineData("0.5,1,mark,0,1e400,", "line 3", "turns")]
    [InlineData("0.5,1,mark,0,0.5,NaN", "line 3", "width_s")]
    [InlineData("", "line 3", "time_s")]
    [InlineData("0.5 ,1,mark,0,0.5,", "line 3", "time_s")]
    public void A_wrong_row_of_pulses_is_named_by_line_found_and_expected(string row, string place, string expected)
    {
        string path = Path.Combine(_run, "pulses.csv");
        File.WriteAllText(path, $"time_s,ticks,kind,mark,turns,width_s\n0.0,0,mark,0,0,\n{row}\n1.0,2,mark,0,1,\n");
        RunFormatException thrown = Assert.Throws<RunFormatException>(() => RunPackageReader.ReadPulses(_run));
        Assert.Equal(path, thrown.File);
        Assert.Equal(place, thrown.Place);
        Assert.Contains(row, thrown.Found, StringComparison.Ordinal);
        Assert.Contains(expected, thrown.Expected, StringComparison.Ordinal);
    }

    [Fact]
    public void Line_ends_of_other_systems_a_missing_last_one_and_exponents_are_read()
    {
        File.WriteAllText(
            Path.Combine(_run, "pulses.csv"),
            "\uFEFFtime_s,ticks,kind,mark,turns,width_s\r\n-0.5,-7,mark,0,0,1e-3\r\n12345678901234567890.5,2,extra,,,",
            new UTF8Encoding(false));
        RunPulses pulses = RunPackageReader.ReadPulses(_run);
        Assert.Equal([-0.5, 12345678901234567890.5], pulses.TimeS);
        Assert.Equal([-7, 2], pulses.Ticks);
        Assert.Equal([1e-3, double.NaN], pulses.WidthS);
        Assert.Equal([0, double.NaN], pulses.Turns);
        Assert.Equal([0, -1], pulses.Mark);
    }

    [Theory]
    [InlineData("speed.csv", "0.0,1,2,3", "4 columns")]
    [InlineData("speed.csv", "0.0,1,2,3,fast", "u_decel_rpm_s 'fast'")]
    [InlineData("speed.csv", ",1,2,3,4", "time_s ''")]
    [InlineData("events.csv", "0.0,,x", "event ''")]
    [InlineData("events.csv", "soon,stop,x", "time_s 'soon'")]
    [InlineData("events.csv", "0.0,stop,a,b", "4 columns")]
    public void A_wrong_row_of_a_table_is_named_by_line_and_column(string file, string row, string found)
    {
        string path = Path.Combine(_run, file);
        string header = File.ReadLines(path).First();
        File.WriteAllText(path, $"{header}\n{(file[0] == 's' ? "0.0,1,2,3,4" : "0.0,launch,\"two\nlines\"")}\n{row}\n");
        RunFormatException thrown = Assert.Throws<RunFormatException>(() => Read(file));
        Assert.Equal(file[0] == 's' ? "line 3" : "line 4", thrown.Place);
        Assert.Contains(found, thrown.Found, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("pulses.csv")]
    [InlineData("speed.csv")]
    [InlineData("events.csv")]
    [InlineData("datapackage.json")]
    public void A_missing_file_and_one_of_other_columns_are_named(string file)
    {
        string path = Path.Combine(_run, file);
        File.WriteAllText(path, "a,b\n1,2\n");
        Assert.Equal(path, Assert.Throws<RunFormatException>(() => Read(file)).File);
        File.WriteAllText(path, "");
        Assert.Equal(path, Assert.Throws<RunFormatException>(() => Read(file)).File);
        File.Delete(path);
        Assert.Equal("no file", Assert.Throws<RunFormatException>(() => Read(file)).Found);
    }

    [Theory]
    [InlineData("\"version\": 1", "\"version\": 2", "version")]
    [InlineData("\"endReason\": \"stopped\"", "\"endReason\": \"tired\"", "tired")]
    [InlineData("\"received\": 401,", "", "received")]
    [InlineData("\"received\": 401", "\"received\": \"many\"", "received")]
    [InlineData("\"startedAt\": \"2027", "\"startedAt\": \"on 2027", "startedAt")]
    [InlineData("\"acquire\"", "\"other\"", "acquire")]
    public void A_wrong_descriptor_is_named_by_what_is_wrong_in_it(string from, string to, string named)
    {
        string path = Path.Combine(_run, "datapackage.json");
        string text = File.ReadAllText(path);
        Assert.Contains(from, text, StringComparison.Ordinal);
        File.WriteAllText(path, text.Replace(from, to, StringComparison.Ordinal));
        RunFormatException thrown = Assert.Throws<RunFormatException>(() => RunPackageReader.ReadDescriptor(_run));
        Assert.Contains(named, thrown.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Whatever_bytes_a_file_holds_it_is_read_or_refused_and_nothing_else_happens()
    {
        var damages =
            from file in Gen.OneOf("pulses.csv", "speed.csv", "events.csv", "datapackage.json")
            from at in Gen.Int[0, 4000]
            from length in Gen.Int[0, 40]
            from filling in Gen.OneOf(Gen.Byte.Array[0, 20], Gen.OneOf((byte)',', (byte)'"', (byte)'\n', (byte)'\r', (byte)'0', (byte)'{').Array[0, 20])
            select (file, at, length, filling);
        var whole = Directory.GetFiles(_run).ToDictionary(path => Path.GetFileName(path)!, File.ReadAllBytes);
        int refused = 0;
        damages.ForEach(2000, seed: 45, damage =>
        {
            byte[] bytes = whole[damage.file];
            int at = damage.at % bytes.Length;
            File.WriteAllBytes(
                Path.Combine(_run, damage.file), [.. bytes[..at], .. damage.filling, .. bytes[Math.Min(bytes.Length, at + damage.length)..]]);
            try
            {
                Read(damage.file);
            }
            catch (RunFormatException)
            {
                refused++;
            }
        });
        Assert.True(refused > 500);
    }

    [Fact]
    public void Air_is_read_where_there_is_some()
    {
        Assert.Empty(RunPackageReader.ReadEnvironment(_run));
        File.WriteAllText(Path.Combine(_run, "environment.csv"), "time_s,temperature_c,pressure_hpa,humidity_pct\n0.0,21.5,,45\n");
        EnvironmentPoint point = Assert.Single(RunPackageReader.ReadEnvironment(_run));
        Assert.Equal(new EnvironmentPoint(0, 21.5, double.NaN, 45), point);
    }

    private void Read(string file)
    {
        object read = file switch
        {
            "pulses.csv" => RunPackageReader.ReadPulses(_run),
            "speed.csv" => RunPackageReader.ReadSpeed(_run),
            "events.csv" => RunPackageReader.ReadEvents(_run),
            _ => RunPackageReader.ReadDescriptor(_run),
        };
        Assert.NotNull(read);
    }
}
