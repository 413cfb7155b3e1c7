using System.Text;
using Acquire.Recording;
using Acquire.Service.Import;
using CsCheck;

namespace Acquire.Service.Tests.Import;

public sealed class ImportTableTests : IDisposable
{
    private static readonly ImportColumns First = new("1", null, HasHeader: false, DecimalComma: false);
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    private ImportTable Read(string text, ImportColumns columns)
    {
        string path = Path.Combine(_bench.Current, "t.csv");
        File.WriteAllBytes(path, Encoding.UTF8.GetBytes(text));
        return ImportTable.Read(path, columns);
    }

    [Theory]
    [InlineData("t,v\n1,2\n3,4\n", ',')]
    [InlineData("t;v\n1;2\n3;4\n", ';')]
    [InlineData("t\tv\r\n1\t2\r\n3\t4", '\t')]
    [InlineData("# a, comment\n\n\"t\";\"v, rpm\"\n1;2\n  # more;\n3;4\n", ';')]
    public void Columns_are_found_whatever_separates_them(string text, char separator)
    {
        ImportTable table = Read(text, new ImportColumns("t", "2", HasHeader: true, DecimalComma: false));
        Assert.Equal(separator, table.Separator);
        Assert.Equal([(1m, 2.0), (3m, 4.0)], table.Rows.Select(r => (r.Time, r.Value)));
        Assert.Equal(0, table.LeftOut.Count);
    }

    [Fact]
    public void A_quotation_mark_without_its_partner_costs_its_own_line()
    {
        ImportTable table = Read("\"t, s\",\"v\"\n\"1,5\",2\n\"2\n3,4\n4\",5\n5,6\n", new ImportColumns("t, s", null, HasHeader: true, DecimalComma: true));
        Assert.Equal([1.5m, 3m, 5m], table.Rows.Select(r => r.Time));
        Assert.Equal([3L, 5L], table.LeftOut.Told.Select(t => t.Line));
    }

    [Fact]
    public void Lines_keep_their_numbers_past_comments_and_empty_lines()
    {
        ImportTable table = Read("#\n\n5\nx\n# c\n6\n", First);
        Assert.Equal([3L, 6L], table.Rows.Select(r => r.Line));
        Assert.Equal(4, Assert.Single(table.LeftOut.Told).Line);
    }

    [Fact]
    public void Digits_beyond_those_of_a_double_are_kept()
    {
        ImportTable table = Read("1805016413.123456789\n", First);
        Assert.Equal(1_805_016_413_123_456_789, Assert.Single(ImportTimes.OfMoments(table, 1).Ns));
    }

    [Fact]
    public void A_header_of_numbers_is_odd() =>
        Assert.Contains("--no-header", Read("1,2\n3,4\n", new ImportColumns("1", null, HasHeader: true, DecimalComma: false)).Odd);

    // Against the quadratic recurrence that any text on dynamic programming gives.
    [Fact]
    public void As_few_times_as_can_be_are_left_out() => Gen.Long[0, 30].List[0, 40].Sample(times =>
    {
        int[] rise = TimeOrder.LongestRise(times);
        Assert.All(rise.Skip(1).Zip(rise), p => Assert.True(p.First > p.Second && times[p.First] > times[p.Second]));
        int[] longest = new int[times.Count];
        for (int i = 0; i < longest.Length; i++)
            longest[i] = 1 + Enumerable.Range(0, i).Where(k => times[k] < times[i]).Select(k => longest[k]).DefaultIfEmpty(0).Max();
        Assert.Equal(longest.DefaultIfEmpty(0).Max(), rise.Length);
    });

    [Fact]
    public void Every_line_is_used_or_counted() => Gen.OneOf("1.5", "2", "x", "", "# c", "-3", "1e3", "7,5", "1e99", "\"4\"", "\"", ";").List[1, 60].Sample(lines =>
    {
        try
        {
            ImportTable table = Read(string.Join('\n', lines) + "\n", First);
            int told = table.Rows.Count + (int)table.LeftOut.Count + (int)table.Blank;
            Assert.Equal(lines.Count, told);
            ImportTimes times = ImportTimes.OfMoments(table, 1e-3m);
            Assert.Equal(lines.Count, times.Ns.Count + (int)table.LeftOut.Count + (int)table.Blank);
        }
        catch (RunFormatException)
        {
            Assert.All(lines, l => Assert.True(l is "" or "# c"));
        }
    }, iter: 500, threads: 1);

    [Fact]
    public void No_file_is_more_than_refused() => Gen.Select(
        Gen.OneOf(Gen.Byte.Array[0, 300], Gen.OneOf("1.5,2\n", "3;4\n", "\"", ",,\n", "9e300,1\n", "-1\n", "\r", "\n", "# x\n", "\u00e9\n", "1,2,3\n").List[0, 40].Select(l => Encoding.UTF8.GetBytes(string.Concat(l)))),
        Gen.OneOf("pulses", "intervals", "speed"), Gen.OneOf("1", "2", "t"), Gen.OneOf("s", "ns"), Gen.Bool)
        .Sample((bytes, kind, column, unit, header) =>
        {
            using var bench = new Bench();
            string path = Path.Combine(bench.Current, "f.csv");
            File.WriteAllBytes(path, bytes);
            List<string> call = ["import", path, "--kind", kind, "--time-column", column, "--unit", unit];
            if (kind == "speed")
                call.AddRange(["--value-column", "2"]);
            if (header)
                call.Add("--no-header");
            int code = bench.Run([.. call]);
            Assert.Contains(code, new[] { 0, 2 });
            Assert.Equal(code == 0, bench.Out.Length > 0);
            Assert.NotEmpty(bench.Error);
        }, iter: 400, threads: 1);
}
