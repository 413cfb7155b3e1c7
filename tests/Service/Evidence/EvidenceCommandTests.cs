using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Acquire.Acquisition.Simulation;
using Acquire.Recording;

namespace Acquire.Service.Tests.Evidence;

/// <summary>Evidence of a run that went the whole way of a pulse; then each part of run and evidence is changed, and must be found out.</summary>
public sealed partial class EvidenceCommandTests : IDisposable
{
    private readonly Bench _bench = new();
    private readonly string _run;
    private readonly string _file;

    public EvidenceCommandTests()
    {
        var plan = new SpinPlan { ToppleRpm = 400, Loss = [new LossTerm(0, 1.5), new LossTerm(1, 1), new LossTerm(2, 0.6)] };
        var spin = new SimulatedSpin(new SpinScenario { Seed = 3, Spins = [plan], RestAfterS = 30 });
        string pulses = Path.Combine(_bench.Current, "pulses.csv");
        File.WriteAllLines(pulses, ["t", .. spin.BoardPulses().Select(p => (p.Pulse.Ticks / spin.Scenario.Board.TickHz).ToString("F9", CultureInfo.InvariantCulture))]);
        using var import = new Bench();
        Assert.True(import.Run("import", pulses, "--kind", "pulses", "--time-column", "t", "--library", _bench.Library, "--top", "oak <rim>", "--factor", "rim_g=12.5", "--started", "2027-03-14T09:26:53Z") == 0, import.Error);
        _run = import.Out.Trim();
        Assert.True(_bench.Run("evidence", _run) == 0, _bench.Error);
        _file = _bench.Out.Trim();
    }

    public void Dispose() => _bench.Dispose();

    private string Name => Path.GetFileName(_run);

    private static (int Code, string Out, string Error) Call(Bench at, params string[] args)
    {
        using var bench = new Bench();
        int code = bench.Run([.. args, "--library", at.Library]);
        return (code, bench.Out, bench.Error);
    }

    private (int Code, string Out, string Error) Verify(string? file = null) => Call(_bench, "verify", file ?? _file);

    private string Changed(Func<string, string> change)
    {
        string file = Path.Combine(_bench.Current, "changed.html");
        File.WriteAllText(file, change(File.ReadAllText(_file)));
        return file;
    }

    // As one would who knows how the page's own hash is taken.
    private static string Rehashed(string page)
    {
        string zeroed = PageHash().Replace(page, "\"pageSha256\":\"" + new string('0', 64));
        return PageHash().Replace(page, "\"pageSha256\":\"" + Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(zeroed))));
    }

    [Fact]
    public void It_says_how_long_how_sure_by_what_clock_and_what_it_is_not_and_holds_every_files_hash()
    {
        Assert.Equal(Path.Combine(_bench.Current, Name + "-evidence.html"), _file);
        string page = File.ReadAllText(_file);
        RunDescriptor run = RunPackageReader.ReadDescriptor(_run);
        foreach (string file in (string[])["pulses.csv", "speed.csv", "events.csv", "datapackage.json"])
            Assert.Contains(Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(Path.Combine(_run, file)))), page, StringComparison.Ordinal);
        foreach (string said in (string[])["It is no signature", "What a witness would check", "How the time is defined", "Uncertainty of the spin time", "Worked out anew from", "oak &lt;rim&gt;", "rim_g", ProgramVersion.Software, "was not known to be kept by others", "<svg"])
            Assert.Contains(said, page, StringComparison.Ordinal);
        foreach (string outside in (string[])["src=", "url(http", "href=\"http", "@import"])
            Assert.DoesNotContain(outside, page, StringComparison.OrdinalIgnoreCase);
        JsonElement part = JsonDocument.Parse(page[(page.IndexOf("id=\"acquire-evidence\">", StringComparison.Ordinal) + 22)..page.LastIndexOf("</script>", StringComparison.Ordinal)]).RootElement;
        Assert.Equal(run.Result.SpinTimeS, part.GetProperty("figures").GetProperty("spinTimeS").GetDouble());
        Assert.Equal("oak <rim>", part.GetProperty("figures").GetProperty("top").GetString());
        Assert.Equal(run.Counts.Marks, part.GetProperty("figures").GetProperty("anew.marks").GetInt64());
        Assert.InRange(part.GetProperty("figures").GetProperty("anew.atLeastS").GetDouble(), run.Result.SpinTimeS - 1.5, run.Result.SpinTimeS + 0.5);
        Assert.InRange(new FileInfo(_file).Length, 20_000, 250_000);
    }

    [Fact]
    public void Untouched_it_agrees_with_its_run_wherever_that_is_and_whatever_became_of_the_page()
    {
        (int code, string said, string error) = Verify();
        Assert.True(code == 0, said + error);
        Assert.Contains("hashes of all files and every figure agree", said, StringComparison.Ordinal);
        Assert.Equal(0, Call(_bench, "show", _run, "--report").Code);
        Assert.Equal(0, Verify().Code);
        (_, said, _) = Call(_bench, "verify", _file, "--json");
        Assert.True(JsonDocument.Parse(said).RootElement.GetProperty("ok").GetBoolean());
        string elsewhere = Path.Combine(_bench.Folder, "elsewhere");
        Directory.Move(_run, elsewhere);
        (code, _, error) = Verify();
        Assert.Equal(2, code);
        Assert.Contains("--run names it", error, StringComparison.Ordinal);
        Assert.Equal(0, Call(_bench, "verify", _file, "--run", elsewhere).Code);
        string beside = Path.Combine(Path.GetDirectoryName(_file)!, Name);
        Directory.Move(elsewhere, beside);
        Assert.Equal(0, Verify().Code);
    }

    [Theory]
    [InlineData("pulses.csv")]
    [InlineData("speed.csv")]
    [InlineData("events.csv")]
    [InlineData("datapackage.json")]
    public void A_byte_changed_in_a_file_of_the_run_is_found(string name)
    {
        string file = Path.Combine(_run, name);
        byte[] whole = File.ReadAllBytes(file);
        var random = new Random(5);
        for (int i = 0; i < 6; i++)
        {
            byte[] spoilt = [.. whole];
            spoilt[random.Next(spoilt.Length)] ^= 1;
            File.WriteAllBytes(file, spoilt);
            (int code, string said, _) = Verify();
            Assert.Equal(1, code);
            Assert.Contains($"{Name}/{name}: ", said, StringComparison.Ordinal);
        }

        File.Delete(file);
        Assert.Equal(1, Verify().Code);
        File.WriteAllBytes(file, whole);
        Assert.Equal(0, Verify().Code);
        File.WriteAllText(Path.Combine(_run, "note.txt"), "more");
        Assert.Equal(1, Verify().Code);
    }

    [Fact]
    public void A_byte_changed_anywhere_in_the_evidence_is_found()
    {
        byte[] whole = File.ReadAllBytes(_file);
        string page = File.ReadAllText(_file);
        int part = Encoding.UTF8.GetByteCount(page[..page.IndexOf("acquire-evidence\">", StringComparison.Ordinal)]);
        var random = new Random(7);
        int[] places = [0, whole.Length - 1, part, .. Enumerable.Range(0, 20).Select(_ => random.Next(whole.Length)), .. Enumerable.Range(0, 20).Select(_ => random.Next(part, whole.Length))];
        string file = Path.Combine(_bench.Current, "spoilt.html");
        foreach (int at in places)
        {
            byte[] spoilt = [.. whole];
            spoilt[at] ^= 1;
            File.WriteAllBytes(file, spoilt);
            (int code, string said, string error) = Verify(file);
            Assert.True(code == 1, $"byte {at}: {code} {said}{error}");
        }

        File.WriteAllBytes(file, whole[..^40]);
        Assert.Equal(1, Verify(file).Code);
    }

    [Fact]
    public void A_figure_changed_is_found_even_where_the_pages_own_hash_was_made_to_fit()
    {
        string page = File.ReadAllText(_file);
        JsonElement figures = JsonDocument.Parse(page[(page.IndexOf("id=\"acquire-evidence\">", StringComparison.Ordinal) + 22)..page.LastIndexOf("</script>", StringComparison.Ordinal)]).RootElement.GetProperty("figures");
        foreach (JsonProperty figure in figures.EnumerateObject())
        {
            string was = $"\"{figure.Name}\":{figure.Value.GetRawText()}";
            string becomes = figure.Value.ValueKind == JsonValueKind.Number
                ? string.Create(CultureInfo.InvariantCulture, $"\"{figure.Name}\":{(figure.Value.GetDouble() * 1.001) + 0.01}") : $"\"{figure.Name}\":\"else\"";
            string file = Changed(p => Rehashed(p.Replace(was, becomes, StringComparison.Ordinal)));
            Assert.NotEqual(page, File.ReadAllText(file));
            (int code, string said, _) = Verify(file);
            Assert.True(code == 1 && said.Contains($"states {figure.Name} ", StringComparison.Ordinal), figure.Name + ": " + said);
            Assert.DoesNotContain("was changed: its content", said, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void What_people_read_cannot_be_changed_apart_from_the_figures()
    {
        (int code, string said, _) = Verify(Changed(p => Rehashed(p.Replace("<h2>Result</h2>", "<h2>Result: a record</h2>", StringComparison.Ordinal))));
        Assert.Equal(1, code);
        Assert.Contains("its text for people does not say what the run says", said, StringComparison.Ordinal);
    }

    [Fact]
    public void A_spin_time_changed_in_run_and_evidence_alike_is_at_odds_with_the_marks()
    {
        string descriptor = Path.Combine(_run, "datapackage.json");
        double was = RunPackageReader.ReadDescriptor(_run).Result.SpinTimeS;
        string text = File.ReadAllText(descriptor);
        string number = Regex.Match(text, "\"spinTimeS\": ?([0-9.e+-]+)").Groups[1].Value;
        File.WriteAllText(descriptor, text.Replace($"\"spinTimeS\": {number}", string.Create(CultureInfo.InvariantCulture, $"\"spinTimeS\": {was + 600}"), StringComparison.Ordinal));
        Assert.Equal(was + 600, RunPackageReader.ReadDescriptor(_run).Result.SpinTimeS, 1e-9);
        (int code, _, string error) = Call(_bench, "evidence", _run, "--out", Path.Combine(_bench.Current, "forged.html"));
        Assert.Equal(1, code);
        Assert.Contains("from releaseS to stopS it is", error, StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(_bench.Current, "forged.html")));
        (_, string said, _) = Verify();
        Assert.Contains("from releaseS to stopS it is", said, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("there is no run 'x'", "evidence", "x")]
    [InlineData("allowed is a file that ends in .html", "evidence", "RUN", "--out", "a.pdf")]
    [InlineData("is there already", "evidence", "RUN", "--out", "FILE")]
    [InlineData("found nothing of an evidence in it", "verify", "RUN/pulses.csv")]
    [InlineData("is no file", "verify", "RUN", "--run", "RUN")]
    public void A_wrong_call_says_what_is_wrong_and_what_is_allowed(string said, params string[] args)
    {
        (int code, _, string error) = Call(_bench, [.. args.Select(a => a.Replace("RUN", _run, StringComparison.Ordinal).Replace("FILE", _file, StringComparison.Ordinal))]);
        Assert.Equal(2, code);
        Assert.Contains(said, error, StringComparison.Ordinal);
    }

    [GeneratedRegex("\"pageSha256\":\"[0-9a-f]{64}")]
    private static partial Regex PageHash();
}
