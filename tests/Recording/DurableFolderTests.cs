namespace Acquire.Recording.Tests;

public sealed class DurableFolderTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Folders_that_are_missing_above_are_made_and_those_there_are_left_alone()
    {
        string deep = _folder.At(Path.Combine("a", "b", "c"));
        DurableFolder.Make(deep);
        Assert.True(Directory.Exists(deep));
        File.WriteAllText(Path.Combine(deep, "kept"), "");
        DurableFolder.Make(deep + Path.DirectorySeparatorChar);
        Assert.Single(Directory.GetFiles(deep));
    }

    [Fact]
    public void A_set_up_of_which_members_are_missing_reads_as_empty_texts()
    {
        RunSetup setup = System.Text.Json.JsonSerializer.Deserialize("{}", JournalJson.Of<JournalStart>().Options.GetTypeInfo(typeof(RunSetup))) as RunSetup ?? new RunSetup { Top = "not read" };
        Assert.Equal(("", "", "", "", ""), (setup.Top, setup.Base, setup.Cover, setup.Operator, setup.Note));
        Assert.Empty(setup.Factors);
    }
}
