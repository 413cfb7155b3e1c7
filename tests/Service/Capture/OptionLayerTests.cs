using Acquire.Service.Capture;

namespace Acquire.Service.Tests.Capture;

public sealed class OptionLayerTests : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void Each_layer_wins_over_the_one_before()
    {
        Settings(_bench.Program, """{"Capture":{"Port":"p1","Baud":1200,"Marks":2,"Top":"program"}}""");
        Settings(_bench.Current, """{"Capture":{"Baud":2400,"Marks":3,"Top":"folder"}}""");
        _bench.Environment["ACQUIRE_CAPTURE__MARKS"] = "4";
        _bench.Environment["ACQUIRE_CAPTURE__TOP"] = "environment";

        (CaptureOptions options, IReadOnlyList<string> problems) = Read(("Top", "command line"));

        Assert.Empty(problems);
        Assert.Equal("p1", options.Port);
        Assert.Equal(2400, options.Baud);
        Assert.Equal(4, options.Marks);
        Assert.Equal("command line", options.Top);
        Assert.Equal("pulse-lines", options.Format);
    }

    [Fact]
    public void Every_setting_of_the_options_is_in_the_table_and_reads_back()
    {
        string[] properties = [.. typeof(CaptureOptions).GetProperties().Select(p => p.Name).Where(n => n != nameof(CaptureOptions.Factors))];
        Assert.Equal(properties.Order(), CaptureSettings.All.Select(s => s.Key).Order());
        foreach (CaptureSetting setting in CaptureSettings.All)
        {
            string text = setting switch { FlagSetting f => f.Get(new()) ? "false" : "true", ChoiceSetting c => c.Choices[^1], NumberSetting n => n.Most.ToString(), OptionalNumberSetting n => n.Most.ToString(), _ => "other" };
            var options = new CaptureOptions();
            Assert.True(setting.TryRead(text, options), setting.Key);
            Assert.Equal(text, setting.Value(options));
            object? held = typeof(CaptureOptions).GetProperty(setting.Key)!.GetValue(options);
            Assert.Equal(text, Convert.ToString(held)!, ignoreCase: true);
        }
    }

    [Fact]
    public void The_library_has_a_short_variable_and_the_long_one_wins_over_it()
    {
        _bench.Environment["ACQUIRE_LIBRARY"] = "/short";
        Assert.Equal("/short", Read(("Port", "p")).Options.Library);
        _bench.Environment["ACQUIRE_CAPTURE__LIBRARY"] = "/long";
        Assert.Equal("/long", Read(("Port", "p")).Options.Library);
    }

    [Fact]
    public void Factors_of_all_layers_come_together()
    {
        Settings(_bench.Current, """{"Capture":{"Port":"p","Factors":{"rim_g":12.5,"dish_radius_mm":70}}}""");
        CaptureOptions options = Read(("Factors:dish_radius_mm", "80")).Options;
        Assert.Equal(new Dictionary<string, double> { ["rim_g"] = 12.5, ["dish_radius_mm"] = 80 }, options.Factors);
    }

    [Fact]
    public void A_wrong_value_is_named_with_its_place()
    {
        Settings(_bench.Current, "{\n  \"Capture\": {\n    \"Port\": \"p\",\n    \"Baud\": \"fast\"\n  }\n}\n");
        _bench.Environment["ACQUIRE_CAPTURE__GRIDS"] = "0";

        IReadOnlyList<string> problems = Read(("Marks", "9")).Problems;

        Assert.Equal(
            [
                $"--baud: 'fast' in {_bench.Current}/appsettings.json, line 4; allowed is a whole number from 300 to 4000000",
                "--marks: '9' on the command line; allowed is a whole number from 1 to 8",
                "--grid: '0' in the environment; allowed is a number from 0.01 to 60",
            ],
            problems);
    }

    [Fact]
    public void A_setting_that_does_not_exist_is_named_with_the_one_that_was_meant()
    {
        Settings(_bench.Current, """{"Capture":{"Port":"p","Bauds":9600}}""");
        Assert.Equal(
            [$"Capture:Bauds: '9600' in {_bench.Current}/appsettings.json, line 1; allowed is a known setting, such as Baud"],
            Read().Problems);
    }

    [Fact]
    public void A_settings_file_that_is_no_json_is_named_with_its_line()
    {
        Settings(_bench.Current, "{\n  \"Capture\": {\n    \"Port\" \"p\"\n  }\n}\n");
        Assert.Equal(2, _bench.Run("capture", "--port", "p"));
        Assert.StartsWith($"acquire capture: {_bench.Current}/appsettings.json, line 3: this is not JSON;", _bench.Error);
    }

    private static void Settings(string folder, string json) => File.WriteAllText(Path.Combine(folder, "appsettings.json"), json);

    private (CaptureOptions Options, IReadOnlyList<string> Problems) Read(params (string Key, string Value)[] commandLine)
    {
        var given = commandLine.ToDictionary(c => "Capture:" + c.Key, c => (string?)c.Value);
        CaptureConfiguration configuration = CaptureConfiguration.Load(_bench.Surroundings, given, out string? problem)!;
        Assert.Null(problem);
        return configuration.Read();
    }
}
