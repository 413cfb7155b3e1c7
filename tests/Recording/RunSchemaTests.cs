using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Serialization;

namespace Acquire.Recording.Tests;

/// <summary>The committed schema of the object <c>acquire</c> against the code.</summary>
public sealed class RunSchemaTests
{
    private static readonly JsonNode Schema = JsonNode.Parse(SchemaText())!;

    public static string SchemaText()
    {
        using Stream stream = typeof(RunDescriptor).Assembly.GetManifestResourceStream("run-schema.json")!;
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    [Theory]
    [InlineData(typeof(RunDescriptor), "")]
    [InlineData(typeof(RunSetup), "setup")]
    [InlineData(typeof(RunSource), "source")]
    [InlineData(typeof(RunClock), "clock")]
    [InlineData(typeof(RunCounts), "counts")]
    [InlineData(typeof(RunResult), "result")]
    [InlineData(typeof(RunBudget), "budget")]
    [InlineData(typeof(RunStop), "stop")]
    [InlineData(typeof(RunWobble), "wobble")]
    [InlineData(typeof(RunAir), "air")]
    [InlineData(typeof(RunPlan), "plan")]
    public void Code_and_schema_have_the_same_members_and_all_are_required_but_those_that_may_be_null(Type type, string member)
    {
        JsonNode at = member.Length == 0 ? Schema : Schema["properties"]![member]!;
        string[] inCode = [.. Written(type).Select(Name)];
        string[] always = [.. Written(type).Where(property => property.GetCustomAttribute<JsonIgnoreAttribute>() is null).Select(Name)];
        Assert.Equal(inCode.Order(), at["properties"]!.AsObject().Select(property => property.Key).Order());
        Assert.Equal(always.Order(), at["required"]!.AsArray().Select(name => (string)name!).Order());
    }

    [Theory]
    [InlineData(typeof(RunSetup), "setup")]
    [InlineData(typeof(RunSource), "source")]
    [InlineData(typeof(RunClock), "clock")]
    [InlineData(typeof(RunCounts), "counts")]
    [InlineData(typeof(RunResult), "result")]
    [InlineData(typeof(RunBudget), "budget")]
    [InlineData(typeof(RunStop), "stop")]
    [InlineData(typeof(RunWobble), "wobble")]
    [InlineData(typeof(RunAir), "air")]
    [InlineData(typeof(RunPlan), "plan")]
    public void Each_member_has_the_type_of_the_code(Type type, string member)
    {
        foreach (PropertyInfo property in Written(type))
        {
            JsonNode said = Schema["properties"]![member]!["properties"]![Name(property)]!;
            string expected = property.PropertyType switch
            {
                Type t when t == typeof(string) => "string",
                Type t when t == typeof(double) => "number or null",
                Type t when t == typeof(double?) => "number",
                Type t when t == typeof(bool) => "boolean",
                Type t when t == typeof(long) || t == typeof(int) || t == typeof(int?) => "integer",
                Type t when t == typeof(IReadOnlyList<double>) => "array",
                _ => "object",
            };
            string found = said["enum"] is not null ? "string"
                : said["type"] is JsonArray types ? string.Join(" or ", types.Select(one => (string)one!))
                : (string)said["type"]!;
            Assert.Equal(expected, found);
        }
    }

    [Fact]
    public void A_run_without_a_budget_says_nothing_of_one_and_one_with_it_is_read_back()
    {
        RunDescriptor without = Runs.Small().Descriptor;
        Assert.DoesNotContain("budget", JsonSerializer.Serialize(without, RunJson.Run), StringComparison.Ordinal);
        var budget = new RunBudget(0.3, 0.4, 1.2);
        string text = JsonSerializer.Serialize(without with { Budget = budget }, RunJson.Run);
        Assert.Equal(budget, JsonSerializer.Deserialize(text, RunJson.Run)!.Budget);
        Assert.Equal(1.3, budget.TogetherS, 1e-12);
        Assert.DoesNotContain("together", text, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void The_marks_that_were_seen_are_written_where_they_are_told_and_read_back()
    {
        RunDescriptor without = Runs.Small().Descriptor;
        Assert.DoesNotContain("marksSeen", JsonSerializer.Serialize(without, RunJson.Run), StringComparison.Ordinal);
        string text = JsonSerializer.Serialize(without with { Counts = without.Counts with { MarksSeen = 2 } }, RunJson.Run);
        Assert.Equal(2, JsonSerializer.Deserialize(text, RunJson.Run)!.Counts.MarksSeen);
    }

    [Fact]
    public void What_was_seen_of_the_end_is_written_where_it_is_told_with_a_latest_end_only_where_none_was_and_read_back()
    {
        RunDescriptor without = Runs.Small().Descriptor;
        Assert.DoesNotContain("\"stop\"", JsonSerializer.Serialize(without, RunJson.Run), StringComparison.Ordinal);
        var unseen = new RunStop(false, 8.6) { LatestS = 21.5 };
        string text = JsonSerializer.Serialize(without with { Stop = unseen }, RunJson.Run);
        Assert.Equal(unseen, JsonSerializer.Deserialize(text, RunJson.Run)!.Stop);
        string seen = JsonSerializer.Serialize(without with { Stop = new RunStop(true, 8.6) }, RunJson.Run);
        Assert.DoesNotContain("latestS", seen, StringComparison.Ordinal);
        Assert.Equal(new RunStop(true, 8.6), JsonSerializer.Deserialize(seen, RunJson.Run)!.Stop);
    }

    [Fact]
    public void A_plans_row_and_why_a_run_is_spoilt_are_written_where_they_are_told_and_read_back()
    {
        RunDescriptor without = Runs.Small().Descriptor;
        string text = JsonSerializer.Serialize(without, RunJson.Run);
        Assert.DoesNotContain("\"plan\"", text, StringComparison.Ordinal);
        Assert.DoesNotContain("\"spoilt\"", text, StringComparison.Ordinal);
        var plan = new RunPlan("P", 3, 1) { FromRpm = 2000, ToRpm = 500 };
        RunDescriptor read = JsonSerializer.Deserialize(JsonSerializer.Serialize(without with { Plan = plan, Spoilt = "touched" }, RunJson.Run), RunJson.Run)!;
        Assert.Equal((plan, "touched"), (read.Plan, read.Spoilt));
    }

    private static string Name(PropertyInfo property) => JsonNamingPolicy.CamelCase.ConvertName(property.Name);

    private static IEnumerable<PropertyInfo> Written(Type type) =>
        type.GetProperties(BindingFlags.Public | BindingFlags.Instance)
            .Where(property => property.GetCustomAttribute<JsonIgnoreAttribute>()?.Condition != JsonIgnoreCondition.Always);

    [Fact]
    public void Reasons_and_version_are_those_of_the_code()
    {
        Assert.Equal(EndReasons.All, Schema["properties"]!["endReason"]!["enum"]!.AsArray().Select(reason => (string)reason!));
        Assert.Equal(
            typeof(EndReasons).GetFields().Where(field => field.IsLiteral).Select(field => (string)field.GetRawConstantValue()!).Order(),
            EndReasons.All.Order());
        Assert.Equal(Runs.Small().Descriptor.Version, (int)Schema["properties"]!["version"]!["const"]!);
    }
}
