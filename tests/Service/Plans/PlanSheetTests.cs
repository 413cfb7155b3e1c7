using System.Text;
using Acquire.Recording;
using Acquire.Service.Plans;
using Acquire.Service.Runs;

namespace Acquire.Service.Tests.Plans;

public sealed class PlanSheetTests : IDisposable
{
    private const string Plain = "plan,row,block,cover,factors.clearance_mm\nP,1,1,ring,6.5\nP,2,1,none,\n";
    private readonly string _folder = Directory.CreateTempSubdirectory("acquire-plan-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private PlanSheet Read(string text, Encoding? encoding = null)
    {
        string file = Path.Combine(_folder, "plan.csv");
        File.WriteAllText(file, text, encoding ?? new UTF8Encoding(false));
        return PlanSheetReader.Read(file);
    }

    private static string Words(PlanSheet sheet) => string.Join(" | ", sheet.Rows.Select(r => $"{r.Row}/{r.Block} {r.Words}"));

    [Fact]
    public void A_sheet_is_read_as_it_was_written()
    {
        PlanRow[] rows =
        [
            new(1, 1, [("top", "Grüner \"Kreisel\", groß"), ("clearance_mm", "6.5")], new SpeedRange(2000, 500)),
            new(2, 1, [("top", ""), ("clearance_mm", "")], new SpeedRange(2000, 500)),
        ];
        string file = Path.Combine(_folder, "plan.csv");
        using (FileStream stream = File.Create(file)) new PlanSheet("P1", ["top", "clearance_mm"], rows).Write(stream);
        Assert.Equal([0xEF, 0xBB, 0xBF], File.ReadAllBytes(file)[..3]);
        PlanSheet found = PlanSheetReader.Read(file);
        Assert.Equal(("P1", 2), (found.Id, found.Rows.Count));
        Assert.Equal(rows.Select(r => (r.Row, r.Block, r.Words, r.Speeds)), found.Rows.Select(r => (r.Row, r.Block, r.Words, r.Speeds)));
    }

    [Fact]
    public void What_a_spreadsheet_makes_of_it_is_read_alike()
    {
        string expected = Words(Read(Plain));
        Assert.Equal("1/1 cover=ring, clearance_mm=6.5 | 2/1 cover=none, clearance_mm=none", expected);
        Assert.Equal(expected, Words(Read(Plain, new UTF8Encoding(true))));
        Assert.Equal(expected, Words(Read(Plain.ReplaceLineEndings("\r\n"))));
        Assert.Equal(expected, Words(Read(Plain.ReplaceLineEndings("\r"))));
        Assert.Equal(expected, Words(Read(Plain.Replace(',', ';'))));
        Assert.Equal(expected, Words(Read(Plain.Replace(',', ';').Replace("6.5", "6,5", StringComparison.Ordinal))));
        Assert.Equal(expected, Words(Read(Plain.Replace(',', '\t'))));
        Assert.Equal(expected, Words(Read("\"plan\",\"row\",\"block\",\"Cover\",\"factors.clearance_mm\"\n\"P\",\"1\",\"1\",\"ring\",\"6.5\"\n\"P\",\"2\",\"1\",\"none\",\"\"\n,,,,\n\n")));
        Assert.Equal(expected, Words(Read("sep,plan,row,remark,block,cover,factors.clearance_mm,mass_g\nx,P,1,\"a, b\",1,ring,6.50,3\n,P,2,,1,none,,\n")));
    }

    [Fact]
    public void Columns_that_are_not_the_plans_are_named_and_rows_keep_the_order_of_the_sheet()
    {
        PlanSheet sheet = Read("plan,row,block,cover,remark,mass_g\nP,2,1,none,,4\nP,1,1,ring,hm,3\n");
        Assert.Equal(["remark", "mass_g"], sheet.OtherColumns);
        Assert.Equal("2/1 cover=none | 1/1 cover=ring", Words(sheet));
    }

    [Theory]
    [InlineData("plan.csv: found nothing in it", "\n\n")]
    [InlineData("line 1: found no column 'row' among plan, block, cover", "plan,block,cover\nP,1,ring\n")]
    [InlineData("line 1: found no column of a set-up, expected one of top, base, cover, operator or factors.NAME", "plan,row,block,remark\nP,1,1,x\n")]
    [InlineData("line 1: found two columns 'cover'", "plan,row,block,cover,cover\nP,1,1,a,b\n")]
    [InlineData("found no row below the heads", "plan,row,block,cover\n")]
    [InlineData("line 3: found row 1 a second time", "plan,row,block,cover\nP,1,1,a\nP,1,1,b\n")]
    [InlineData("line 3: found the plan Q after P, expected rows of one plan", "plan,row,block,cover\nP,1,1,a\nQ,2,1,b\n")]
    [InlineData("line 2: found row '1.5', expected a whole number from 1 on", "plan,row,block,cover\nP,1.5,1,a\n")]
    [InlineData("line 2: found block '', expected a number", "plan,row,block,cover\nP,1,,a\n")]
    [InlineData("line 2: found factors.d_mm 'six', expected a number", "plan,row,block,factors.d_mm\nP,1,1,six\n")]
    [InlineData("line 2: found factors.note '1', expected a name of letters", "plan,row,block,factors.note\nP,1,1,1\n")]
    [InlineData("line 2: found plan '', expected the plan's name", "plan,row,block,cover\n,1,1,a\n")]
    [InlineData("line 2: found from_rpm '500', to_rpm '2000', expected both or neither", "plan,row,block,cover,from_rpm,to_rpm\nP,1,1,a,500,2000\n")]
    public void What_is_no_plan_is_refused_with_its_place(string said, string text) =>
        Assert.Contains(said, Assert.Throws<RunFormatException>(() => Read(text)).Message, StringComparison.Ordinal);

    [Fact]
    public void Letters_of_another_encoding_are_refused_and_not_guessed() =>
        Assert.Contains("saved as CSV in UTF-8", Assert.Throws<RunFormatException>(() => Read("plan,row,block,cover\nP,1,1,grün\n", Encoding.Latin1)).Message, StringComparison.Ordinal);

    [Fact]
    public void A_row_puts_its_values_into_the_usual_setup_and_knows_where_one_differs()
    {
        PlanSheet sheet = Read(Plain);
        var usual = new RunSetup { Top = "oak", Cover = "jar", Factors = new SortedDictionary<string, double> { ["clearance_mm"] = 3, ["rim_g"] = 12.5 } };
        RunSetup first = sheet.Rows[0].In(usual);
        Assert.Equal(("oak", "ring", 6.5, 12.5), (first.Top, first.Cover, first.Factors["clearance_mm"], first.Factors["rim_g"]));
        RunSetup second = sheet.Rows[1].In(usual);
        Assert.Equal(("none", false), (second.Cover, second.Factors.ContainsKey("clearance_mm")));
        Assert.Null(sheet.Rows[0].Differs(first));
        Assert.Null(sheet.Rows[0].Differs(first with { Top = "beech" }));
        Assert.Equal("cover none instead of ring, clearance_mm none instead of 6.5", sheet.Rows[0].Differs(second));
    }
}
