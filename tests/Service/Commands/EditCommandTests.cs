using Acquire.Recording;

namespace Acquire.Service.Tests.Commands;

public sealed class EditCommandTests : IDisposable
{
    private const string Name = "20270314T092653Z-oak-rim";
    private readonly Bench _bench = new();

    public EditCommandTests() => SampleRuns.Write(_bench.Library, SampleRuns.Make());

    public void Dispose() => _bench.Dispose();

    private string Folder => Path.Combine(_bench.Library, Name);

    [Fact]
    public void Each_change_is_said_and_the_folder_is_the_answer()
    {
        Assert.Equal(0, _bench.Run("edit", Name, "--cover", "", "--factor", "rim_g=12.5", "--remove-factor", "dish_radius_mm", "--rename", "beech"));
        string folder = Path.Combine(_bench.Library, "20270314T092653Z-beech");
        Assert.Equal(folder + "\n", _bench.Out);
        Assert.Equal(
            $"cover: 'jar' → ''\nfactors.rim_g: none → '12.5'\nfactors.dish_radius_mm: '80' → none\nfolder: '{Name}' → '20270314T092653Z-beech'\n", _bench.Error);
        Assert.Equal("", RunPackageReader.ReadDescriptor(folder).Setup.Cover);

        using var verify = new Bench();
        Assert.Equal(0, verify.Run("verify", folder));
        Assert.Matches(@"^20270314T092653Z-beech: as written; 4 later edits, the last on \d{4}-\d\d-\d\d \d\d:\d\d:\d\d UTC\n$", verify.Out);
    }

    [Fact]
    public void A_run_that_is_marked_as_spoilt_stays_says_so_and_can_be_made_to_count_again()
    {
        Assert.Equal(0, _bench.Run("edit", Name, "--spoilt", "the hand slipped"));
        Assert.Equal("spoilt: none → 'the hand slipped'\n", _bench.Error);
        Assert.Equal("the hand slipped", RunPackageReader.ReadDescriptor(Folder).Spoilt);
        Assert.Empty(RunVerifier.Verify(Folder));
        using (var show = new Bench())
        {
            Assert.Equal(0, show.Run("show", Folder));
            Assert.Contains("the hand slipped (left out of compare, sweep, best and plan)", show.Out, StringComparison.Ordinal);
        }

        using (var runs = new Bench())
        {
            Assert.Equal(0, runs.Run("runs", "--library", _bench.Library));
            Assert.Contains("stopped, spoilt", runs.Out, StringComparison.Ordinal);
        }

        using var back = new Bench();
        Assert.Equal(0, back.Run("edit", Name, "--not-spoilt", "--library", _bench.Library));
        Assert.Null(RunPackageReader.ReadDescriptor(Folder).Spoilt);
        Assert.DoesNotContain("\"spoilt\": null", File.ReadAllText(Path.Combine(Folder, "datapackage.json")), StringComparison.Ordinal);
        Assert.Empty(RunVerifier.Verify(Folder));
    }

    [Theory]
    [InlineData("nothing to do was given; allowed are")]
    [InlineData("too much was given; allowed are", "--delete", "--top", "x")]
    [InlineData("too much was given; allowed are", "--delete", "--restore")]
    [InlineData("--factor: 'rim_g' on the command line; allowed is name=number", "--factor", "rim_g")]
    [InlineData("--factor: 'rim_g=x' on the command line; allowed is name=number", "--factor", "rim_g=x")]
    [InlineData("--factor: '1g=2' on the command line; allowed is a name of letters", "--factor", "1g=2")]
    [InlineData("--factor: 'a=NaN' on the command line; allowed is a finite number", "--factor", "a=NaN")]
    [InlineData("--factor: 'a' on the command line is given twice; allowed is", "--factor", "a=1", "--factor", "a=2")]
    [InlineData("--remove-factor: 'a' on the command line is given twice or set as well; allowed is", "--factor", "a=1", "--remove-factor", "a")]
    [InlineData("--spoilt and --not-spoilt are given at once; allowed is one", "--spoilt", "x", "--not-spoilt")]
    [InlineData("--spoilt: ' ' on the command line; allowed is a reason in one line", "--spoilt", " ")]
    [InlineData("--top: 'a\tb' on the command line; allowed is a text of one line", "--top", "a\tb")]
    [InlineData("there is no factor 'rim_g' to take away; there are dish_radius_mm", "--remove-factor", "rim_g")]
    [InlineData("'Beech' is no name for a folder of a run; allowed are", "--rename", "Beech")]
    public void What_cannot_be_is_refused_with_what_is_allowed_and_changes_nothing(string message, params string[] args)
    {
        byte[] before = File.ReadAllBytes(Path.Combine(Folder, "datapackage.json"));
        Assert.Equal(2, _bench.Run(["edit", Name, .. args]));
        Assert.StartsWith("acquire edit: " + message, _bench.Error);
        Assert.Equal("", _bench.Out);
        Assert.Equal(before, File.ReadAllBytes(Path.Combine(Folder, "datapackage.json")));
    }

    [Fact]
    public void A_deleted_run_is_no_longer_listed_nor_edited_until_it_is_restored()
    {
        Assert.Equal(0, _bench.Run("edit", Name, "--delete"));
        string kept = Path.Combine(_bench.Library, ".trash", Name);
        Assert.Equal(kept + "\n", _bench.Out);
        using (var after = new Bench())
        {
            Assert.Equal(0, after.Run("runs", "--json", "--library", _bench.Library));
            Assert.Equal("{\n  \"runs\": []\n}\n", after.Out);
            Assert.Equal(2, after.Run("edit", kept, "--top", "x", "--library", _bench.Library));
            Assert.Contains("was deleted: --restore brings it back", after.Error);
        }

        using var back = new Bench();
        Assert.Equal(0, back.Run("edit", Name, "--restore", "--library", _bench.Library));
        Assert.Equal(Folder + "\n", back.Out);
        Assert.Empty(RunVerifier.Verify(Folder));
    }

    [Fact]
    public void Neither_the_library_nor_any_other_folder_is_taken_for_a_run()
    {
        Directory.CreateDirectory(Path.Combine(_bench.Current, "photos"));
        Directory.CreateDirectory(Path.Combine(_bench.Library, ".open"));
        foreach (string run in new[] { _bench.Library, Path.Combine(_bench.Current, "photos"), Path.Combine(_bench.Library, ".open"), "no-such-run" })
            Assert.Equal(2, _bench.Run("edit", run, "--delete"));
        Assert.True(Directory.Exists(Folder));
        Assert.True(Directory.Exists(Path.Combine(_bench.Current, "photos")));
    }

    [Fact]
    public void A_run_whose_descriptor_cannot_be_read_may_be_deleted_but_not_edited()
    {
        File.WriteAllText(Path.Combine(Folder, "datapackage.json"), "{");
        Assert.Equal(2, _bench.Run("edit", Name, "--top", "x"));
        Assert.Contains("datapackage.json, line 1", _bench.Error);
        Assert.Equal(0, _bench.Run("edit", Name, "--delete"));
    }
}
