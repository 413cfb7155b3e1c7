using System.Text.Json;

namespace Acquire.Service.Tests.Commands;

public sealed class SpindownCommandTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void The_JSON_has_decay_time_bands_and_law_with_the_truth_within_their_uncertainties()
    {
        string run = Write();
        Assert.Equal(0, _bench.Run("spindown", run, "--json"));
        using JsonDocument document = JsonDocument.Parse(_bench.Out);
        JsonElement found = document.RootElement.GetProperty("runs")[0];
        Assert.Equal((run, 2000, 500), (found.GetProperty("run").GetString(), found.GetProperty("fromRpm").GetDouble(), found.GetProperty("toRpm").GetDouble()));
        Near(LossRun.TimeS(500) - LossRun.TimeS(2000), found, "decayTimeS", "uDecayTimeS");
        JsonElement[] bands = [.. found.GetProperty("bands").EnumerateArray()];
        Assert.Equal(6, bands.Length);
        foreach (JsonElement band in bands)
            Near(LossRun.TimeS(band.GetProperty("toRpm").GetDouble()) - LossRun.TimeS(band.GetProperty("fromRpm").GetDouble()), band, "timeS", "uTimeS");
        JsonElement law = found.GetProperty("law");
        Assert.Equal(1000 * Math.PI / 30, law.GetProperty("omegaRef").GetDouble(), 1e-12);
        JsonElement[] terms = [.. law.GetProperty("terms").EnumerateArray()];
        Assert.Equal([0, 2], terms.Select(t => t.GetProperty("exponent").GetDouble()));
        Near(LossRun.Dry, terms[0], "coefficient", "uCoefficient");
        Near(LossRun.Quadratic, terms[1], "coefficient", "uCoefficient");
    }

    [Fact]
    public void For_people_it_names_time_bands_law_and_shares()
    {
        Assert.Equal(0, _bench.Run("spindown", Write(), "--bands", "1500,1000"));
        Assert.Contains("2000 to 500 rpm in ", _bench.Out);
        Assert.Contains("dry contact", _bench.Out);
        Assert.Contains("drag, pumping", _bench.Out);
        string[][] rows = [.. _bench.Out.Split('\n').Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries)).Where(w => w.Length == 7)];
        Assert.Equal([("2000", "1500"), ("1500", "1000"), ("1000", "500")], rows.Where(r => r[1] is "1500" or "1000" or "500").Select(r => (r[0], r[1])));
    }

    [Fact]
    public void A_body_gives_torque_and_a_discs_drag_beside_it()
    {
        string rotor = Path.Combine(_bench.Current, "disc.json");
        File.WriteAllText(rotor, """{"name":"disc","parts":[{"name":"disc","shape":"cylinder","radiusMm":50,"heightMm":10,"bottomMm":0,"massG":200}]}""");
        Assert.Equal(0, _bench.Run("spindown", Write(), "--rotor", rotor, "--json"));
        using JsonDocument document = JsonDocument.Parse(_bench.Out);
        JsonElement at = document.RootElement.GetProperty("runs")[0].GetProperty("torque").EnumerateArray().Single(t => t.GetProperty("rpm").GetDouble() == 1000);
        const double Inertia = 0.5 * 0.2 * 0.05 * 0.05;
        Assert.Equal(Inertia * (LossRun.Dry + LossRun.Quadratic), at.GetProperty("torqueNm").GetDouble(), 1e-8);
        Assert.Equal("laminar", at.GetProperty("discFlow").GetString());
        // ν = 1.8134e-5/1.1993 at 20 °C, 1013.25 hPa, 50 %.
        Assert.Equal(104.7198 * 0.0025 / (1.813406e-5 / 1.1993139), at.GetProperty("reynolds").GetDouble(), 1);
    }

    [Theory]
    [InlineData("--from 2500: after its release the run is seen from 2400 down to 302 rpm; allowed within what was asked is --from 2400 --to 500", "--from", "2500")]
    [InlineData("--to 200: after its release the run is seen from 2400 down to 302 rpm; allowed within what was asked is --from 2000 --to 302", "--to", "200")]
    [InlineData("--from 500 --to 2000; a spin slows", "--from", "500", "--to", "2000")]
    [InlineData("--from: '33Hz'; allowed is a number of turns a minute", "--from", "33Hz")]
    [InlineData("--bands: '400,900'; allowed are falling speeds", "--bands", "400,900")]
    [InlineData("need --rotor", "--clearance", "3")]
    [InlineData("ends in .png or .svg", "--plot", "picture.txt")]
    public void What_cannot_be_answered_says_what_can(string message, params string[] options)
    {
        Assert.Equal(2, _bench.Run(["spindown", Write(), .. options]));
        Assert.Contains(message, _bench.Error);
        Assert.Equal("", _bench.Out);
    }

    [Fact]
    public void A_speed_passed_while_the_signal_was_lost_is_refused_with_when_how_long_and_the_largest_interval_without()
    {
        double from = Math.Floor(LossRun.TimeS(800)), to = from + 30;
        string run = SampleRuns.Write(_bench.Library, LossRun.Make(gap: (from - 0.5, to + 0.5)));
        Assert.Equal(2, _bench.Run("spindown", run, "--to", "700"));
        Assert.Contains("700 rpm was passed while the signal was lost, ", _bench.Error);
        Assert.Contains(" after the first pulse (32 s), from ", _bench.Error);
        Assert.Contains("allowed within what was asked is --from 2000 --to ", _bench.Error);
    }

    [Fact]
    public void A_gap_within_the_interval_is_told_and_only_the_bands_at_its_edges_have_no_time()
    {
        double from = Math.Floor(LossRun.TimeS(1040));
        string run = SampleRuns.Write(_bench.Library, LossRun.Make(gap: (from - 0.5, from + 10.5)));
        Assert.Equal(0, _bench.Run("spindown", run, "--json"));
        Assert.Contains("the signal was lost within the interval", _bench.Error);
        using JsonDocument document = JsonDocument.Parse(_bench.Out);
        JsonElement found = document.RootElement.GetProperty("runs")[0];
        Near(LossRun.TimeS(500) - LossRun.TimeS(2000), found, "decayTimeS", "uDecayTimeS");
        Assert.Equal(1, found.GetProperty("gaps").GetArrayLength());
        Assert.Equal([1250, 1000], found.GetProperty("bands").EnumerateArray().Where(b => b.GetProperty("timeS").ValueKind == JsonValueKind.Null).Select(b => b.GetProperty("fromRpm").GetDouble()));
    }

    [Fact]
    public void Picture_and_page_are_written_and_the_page_needs_nothing_from_elsewhere()
    {
        Write();
        SampleRuns.Write(_bench.Library, LossRun.Make(SampleRuns.Start.AddDays(1), cover: "dome"));
        Assert.Equal(0, _bench.Run("spindown", "--where", "top=OAK RIM", "--plot", "losses.svg", "--report", "losses.html"));
        string svg = File.ReadAllText(Path.Combine(_bench.Current, "losses.svg"));
        foreach (string words in new[] { "speed / rpm", "deceleration / (rpm/s)", "jar", "dome" })
            Assert.Contains(words, svg);
        string page = File.ReadAllText(Path.Combine(_bench.Current, "losses.html"));
        Assert.Equal(3, page.Split("<svg ").Length - 1);
        Assert.DoesNotContain("<script", page);
        Assert.DoesNotContain("src=", page);
        Assert.DoesNotContain("href=\"http", page.Replace("xlink", "", StringComparison.Ordinal));
        string[] names = [.. System.Text.RegularExpressions.Regex.Matches(page, " id=\"([^\"]+)\"").Select(m => m.Groups[1].Value)];
        Assert.Equal(names.Length, names.Distinct().Count());
    }

    [Theory]
    [InlineData("no run has cover=jr; did you mean jar?", "--where", "cover=jr")]
    [InlineData("there is no 'covr'; did you mean cover?", "--where", "covr=jar")]
    [InlineData("no run has rim_mass_g=13; there are 12.5, 20", "--where", "rim_mass_g=13")]
    [InlineData("no run has all of cover=jar,rim_mass_g=20: cover=jar has 1, rim_mass_g=20 has 1", "--where", "cover=jar,rim_mass_g=20")]
    [InlineData("none of the 2 runs is of that time: they began from 2027-03-14 to 2027-03-15", "--since", "2027-04-01")]
    [InlineData("--until: 'yesterday'; allowed is a day", "--until", "yesterday")]
    public void A_filter_that_fits_no_run_says_what_there_is(string message, params string[] options)
    {
        Write();
        SampleRuns.Write(_bench.Library, LossRun.Make(SampleRuns.Start.AddDays(1), cover: "dome", rimMassG: 20));
        Assert.Equal(2, _bench.Run(["spindown", .. options]));
        Assert.Contains(message, _bench.Error);
    }

    [Theory]
    [InlineData(1, "--where", "COVER=Jar")]
    [InlineData(1, "--where", "rim_mass_g=12.50")]
    [InlineData(2, "--where", "top=oak rim", "--since", "2027-03-14", "--until", "2027-03-15")]
    [InlineData(1, "--until", "2027-03-14")]
    [InlineData(1, "--since", "2027-03-14T12:00")]
    public void A_filter_chooses_the_runs_that_it_fits(int count, params string[] options)
    {
        Write();
        SampleRuns.Write(_bench.Library, LossRun.Make(SampleRuns.Start.AddDays(1), cover: "dome", rimMassG: 20));
        Assert.Equal(0, _bench.Run(["spindown", "--json", .. options]));
        using JsonDocument document = JsonDocument.Parse(_bench.Out);
        Assert.Equal(count, document.RootElement.GetProperty("runs").GetArrayLength());
    }

    private string Write() => SampleRuns.Write(_bench.Library, LossRun.Make());

    private static void Near(double truth, JsonElement of, string value, string u)
    {
        double uncertainty = of.GetProperty(u).GetDouble();
        Assert.True(uncertainty > 0);
        Assert.Equal(truth, of.GetProperty(value).GetDouble(), 4 * uncertainty);
    }
}
