using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;

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
    public void Code_and_schema_have_the_same_members_and_all_are_required(Type type, string member)
    {
        JsonNode at = member.Length == 0 ? Schema : Schema["properties"]![member]!;
        string[] inCode =
        [
            .. type.GetProperties(BindingFlags.Public | BindingFlags.Instance).Select(property => JsonNamingPolicy.CamelCase.ConvertName(property.Name)),
        ];
        Assert.Equal(inCode.Order(), at["properties"]!.AsObject().Select(property => property.Key).Order());
        Assert.Equal(inCode.Order(), at["required"]!.AsArray().Select(name => (string)name!).Order());
    }

    [Theory]
    [InlineData(typeof(RunSetup), "setup")]
    [InlineData(typeof(RunSource), "source")]
    [InlineData(typeof(RunClock), "clock")]
    [InlineData(typeof(RunCounts), "counts")]
    [InlineData(typeof(RunResult), "result")]
    public void Each_member_has_the_type_of_the_code(Type type, string member)
    {
        foreach (PropertyInfo property in type.GetProperties(BindingFlags.Public | BindingFlags.Instance))
        {
            JsonNode said = Schema["properties"]![member]!["properties"]![JsonNamingPolicy.CamelCase.ConvertName(property.Name)]!;
            string expected = property.PropertyType switch
            {
                Type t when t == typeof(string) => "string",
                Type t when t == typeof(double) => "number or null",
                Type t when t == typeof(long) || t == typeof(int) => "integer",
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
    public void Reasons_and_version_are_those_of_the_code()
    {
        Assert.Equal(EndReasons.All, Schema["properties"]!["endReason"]!["enum"]!.AsArray().Select(reason => (string)reason!));
        Assert.Equal(
            typeof(EndReasons).GetFields().Where(field => field.IsLiteral).Select(field => (string)field.GetRawConstantValue()!).Order(),
            EndReasons.All.Order());
        Assert.Equal(Runs.Small().Descriptor.Version, (int)Schema["properties"]!["version"]!["const"]!);
    }
}
