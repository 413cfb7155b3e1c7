using System.Text.Json.Nodes;
using CsCheck;

namespace Acquire.Recording.Tests;

public sealed class RunEditorTests : IDisposable
{
    private static readonly DateTimeOffset At = new(2027, 4, 1, 12, 0, 0, TimeSpan.Zero);
    private readonly TemporaryFolder _folder = new();
    private readonly string _run;

    public RunEditorTests() => _run = RunPackageWriter.Write(_folder.Root, Runs.Small());

    public void Dispose() => _folder.Dispose();

    private string Descriptor => Path.Combine(_run, "datapackage.json");

    [Fact]
    public void An_edit_is_stated_and_entered_and_nothing_else_is_changed()
    {
        Dictionary<string, byte[]> tables = Directory.GetFiles(_run, "*.csv").ToDictionary(f => f, File.ReadAllBytes);
        JsonNode before = JsonNode.Parse(File.ReadAllText(Descriptor))!;
        (string folder, IReadOnlyList<RunEdit> made) = RunEditor.Change(
            _run,
            new RunChanges
            {
                Texts = new Dictionary<string, string> { ["top"] = "Größe \"B\"", ["cover"] = "jar", ["base"] = "glass" },
                Factors = new Dictionary<string, double?> { ["rim_g"] = 12.5, ["dish_radius_mm"] = null },
            },
            At);
        Assert.Equal(_run, folder);
        RunEdit[] expected =
        [
            new(At, "top", "Oak rim", "Größe \"B\""), new(At, "cover", "", "jar"), new(At, "factors.rim_g", null, "12.5"), new(At, "factors.dish_radius_mm", "80", null),
        ];
        Assert.Equal(expected, made);
        RunDescriptor after = RunPackageReader.ReadDescriptor(_run);
        Assert.Equal(expected, after.Edits);
        Assert.Equal(("Größe \"B\"", "jar", "glass", "Jo"), (after.Setup.Top, after.Setup.Cover, after.Setup.Base, after.Setup.Operator));
        Assert.Equal([new("rim_g", 12.5)], after.Setup.Factors);
        Assert.Empty(RunVerifier.Verify(_run));

        foreach ((string file, byte[] bytes) in tables)
            Assert.Equal(bytes, File.ReadAllBytes(file));
        JsonNode now = JsonNode.Parse(File.ReadAllText(Descriptor))!;
        Assert.Equal("Größe \"B\", 2027-03-14 09:26:53 UTC", (string?)now["title"]);
        now["title"] = before["title"]!.DeepClone();
        now["acquire"]!["setup"] = before["acquire"]!["setup"]!.DeepClone();
        now["acquire"]!.AsObject().Remove("edits");
        Assert.Equal(before.ToJsonString(), now.ToJsonString());
    }

    [Fact]
    public void Any_edit_and_the_one_back_leave_the_descriptor_as_it_was_but_for_the_edits() =>
        Runs.Any.Select(Gen.String[0, 12], Gen.Double[-1e9, 1e9]).Sample(
            (run, text, value) =>
            {
                using var folder = new TemporaryFolder();
                string path = RunPackageWriter.Write(folder.Root, run);
                string before = File.ReadAllText(Path.Combine(path, "datapackage.json"));
                RunSetup setup = RunPackageReader.ReadDescriptor(path).Setup;
                RunEditor.Change(path, Of(text, value), At);
                Assert.Equal(text, RunPackageReader.ReadDescriptor(path).Setup.Note);
                RunEditor.Change(path, Of(setup.Note, setup.Factors["dish_radius_mm"]), At);
                JsonNode now = JsonNode.Parse(File.ReadAllText(Path.Combine(path, "datapackage.json")))!;
                now["acquire"]!.AsObject().Remove("edits");
                Assert.True(JsonNode.DeepEquals(JsonNode.Parse(before), now));
                Assert.Empty(RunVerifier.Verify(path));
            },
            iter: 40, seed: "0000KOIPLIw4");

    [Fact]
    public void What_is_so_already_is_no_edit()
    {
        byte[] before = File.ReadAllBytes(Descriptor);
        Assert.Empty(RunEditor.Change(_run, Of("", 80), At).Made);
        Assert.Equal(before, File.ReadAllBytes(Descriptor));
    }

    [Fact]
    public void A_new_slug_keeps_the_time_in_the_name_and_what_a_descriptor_holds_beyond_this_version()
    {
        string text = File.ReadAllText(Descriptor).Replace("\"acquire\": {", "\"later\": {\"exact\": 1.50},\n  \"acquire\": {", StringComparison.Ordinal);
        File.WriteAllText(Descriptor, text);
        (string folder, _) = RunEditor.Change(_run, new RunChanges { Slug = "beech-2" }, At);
        Assert.Equal(Path.Combine(_folder.Root, "20270314T092653Z-beech-2"), folder);
        Assert.False(Directory.Exists(_run));
        Assert.Contains("\"exact\": 1.50", File.ReadAllText(Path.Combine(folder, "datapackage.json")), StringComparison.Ordinal);
        Assert.Contains("\"name\": \"20270314t092653z-beech-2\"", File.ReadAllText(Path.Combine(folder, "datapackage.json")), StringComparison.Ordinal);
        Assert.Empty(RunVerifier.VerifyLibrary(_folder.Root));
    }

    [Theory]
    [InlineData("")]
    [InlineData("Beech")]
    [InlineData("../up")]
    [InlineData("a--b")]
    [InlineData("-a")]
    [InlineData("12345678901234567890123456789012345678901")]
    public void What_is_no_slug_is_refused_and_changes_nothing(string slug)
    {
        byte[] before = File.ReadAllBytes(Descriptor);
        Assert.Contains("allowed are", Assert.Throws<RunEditException>(() => RunEditor.Change(_run, Of("x", 1) with { Slug = slug }, At)).Message, StringComparison.Ordinal);
        Assert.Equal(before, File.ReadAllBytes(Descriptor));
    }

    [Fact]
    public void A_name_that_another_run_has_is_refused_and_changes_nothing()
    {
        string other = RunPackageWriter.Write(_folder.Root, Runs.Small("beech"));
        Assert.Throws<RunEditException>(() => RunEditor.Change(_run, Of("x", 1) with { Slug = "beech" }, At));
        Assert.Null(RunPackageReader.ReadDescriptor(_run).Edits);
        Assert.Null(RunPackageReader.ReadDescriptor(other).Edits);
    }

    [Fact]
    public void Edits_at_once_come_one_after_the_other_and_whoever_reads_meanwhile_finds_a_whole_descriptor()
    {
        using var done = new CancellationTokenSource();
        int reads = 0;
        var reader = new Thread(() =>
        {
            for (; !done.IsCancellationRequested; reads++)
                RunPackageReader.ReadDescriptor(_run);
        });
        reader.Start();
        Thread[] editors = [.. Enumerable.Range(0, 6).Select(e => new Thread(() =>
        {
            for (int i = 0; i < 5; i++)
                RunEditor.Change(_run, new RunChanges { Factors = new Dictionary<string, double?> { [$"f{e}"] = i, ["last"] = (10 * e) + i } }, At);
        }))];
        Array.ForEach(editors, e => e.Start());
        Array.ForEach(editors, e => e.Join());
        done.Cancel();
        reader.Join();
        RunDescriptor after = RunPackageReader.ReadDescriptor(_run);
        Assert.Equal(60, after.Edits!.Count);
        for (int e = 0; e < 6; e++)
            Assert.Equal(4, after.Setup.Factors[$"f{e}"]);
        Assert.Empty(RunVerifier.Verify(_run));
        Assert.True(reads > 0);
    }

    [Fact]
    public void While_another_changes_the_library_an_edit_waits()
    {
        using var editing = new ManualResetEventSlim();
        IDisposable held = LibraryEditLock.Take(_folder.Root, TimeSpan.Zero);
        Assert.Throws<IOException>(() => LibraryEditLock.Take(_folder.Root, TimeSpan.FromMilliseconds(60)));
        var editor = new Thread(() =>
        {
            editing.Set();
            RunEditor.Change(_run, Of("later", 80), At);
        });
        editor.Start();
        editing.Wait(TestContext.Current.CancellationToken);
        Assert.False(editor.Join(200));
        held.Dispose();
        Assert.True(editor.Join(TimeSpan.FromSeconds(10)));
        Assert.Equal("later", RunPackageReader.ReadDescriptor(_run).Setup.Note);
    }

    [Fact]
    public void What_an_edit_that_was_cut_short_left_is_named_by_the_verifier_and_gone_after_the_next()
    {
        File.WriteAllText(Path.Combine(_run, ".datapackage.json.new"), "{");
        Assert.Contains("cut short", Assert.Single(RunVerifier.Verify(_run)).What, StringComparison.Ordinal);
        RunEditor.Change(_run, Of("x", 1), At);
        Assert.Empty(RunVerifier.Verify(_run));
    }

    [Fact]
    public void A_set_up_changed_past_its_edits_is_found()
    {
        RunEditor.Change(_run, Of("first", 1), At);
        RunEditor.Change(_run, Of("second", 1), At);
        string text = File.ReadAllText(Descriptor);
        File.WriteAllText(Descriptor, text.Replace("\"note\": \"second\"", "\"note\": \"third\"", StringComparison.Ordinal));
        Assert.Equal("acquire.setup: note is 'third', but its last edit left 'second'", Assert.Single(RunVerifier.Verify(_run)).What);
        File.WriteAllText(Descriptor, text.Replace("\"from\": \"first\"", "\"from\": \"other\"", StringComparison.Ordinal));
        Assert.Equal("acquire.edits: note goes from 'other', but was left as 'first'", Assert.Single(RunVerifier.Verify(_run)).What);
    }

    [Fact]
    public void A_descriptor_with_a_member_twice_is_refused_with_its_line()
    {
        string text = File.ReadAllText(Descriptor);
        File.WriteAllText(Descriptor, text.Replace("\"title\":", "\"title\": \"x\",\n  \"title\":", StringComparison.Ordinal));
        Assert.Equal(Descriptor, Assert.Throws<RunFormatException>(() => RunEditor.Change(_run, Of("x", 1), At)).File);
    }

    private static RunChanges Of(string note, double radius) => new()
    {
        Texts = new Dictionary<string, string> { ["note"] = note },
        Factors = new Dictionary<string, double?> { ["dish_radius_mm"] = radius },
    };
}
