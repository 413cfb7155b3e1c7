using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace Acquire.Recording.Tests;

/// <summary>The rules of the Data Package standard, version 2, one by one; the sections named are those of datapackage.org/standard.</summary>
public sealed partial class DataPackageStandardTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly string _run;
    private readonly JsonObject _package;

    public DataPackageStandardTests()
    {
        _run = RunPackageWriter.Write(_folder.Root, Runs.Small("Größe 1"));
        _package = JsonNode.Parse(File.ReadAllText(Path.Combine(_run, "datapackage.json")))!.AsObject();
    }

    public void Dispose() => _folder.Dispose();

    // Data Package, "Descriptor": named datapackage.json, on the top level. Glossary, "Descriptor": a JSON object, in UTF-8.
    [Fact]
    public void The_descriptor_is_a_JSON_object_in_UTF_8_without_a_mark()
    {
        byte[] bytes = File.ReadAllBytes(Path.Combine(_run, "datapackage.json"));
        Assert.Equal((byte)'{', bytes[0]);
        new System.Text.UTF8Encoding(false, throwOnInvalidBytes: true).GetCharCount(bytes);
    }

    // Data Package, "$schema": the recommended value. The same for resource, dialect and schema.
    [Fact]
    public void Every_part_names_its_profile_of_version_2()
    {
        Assert.Equal("https://datapackage.org/profiles/2.0/datapackage.json", Text(_package, "$schema"));
        foreach (JsonObject resource in Resources())
        {
            Assert.Equal("https://datapackage.org/profiles/2.0/dataresource.json", Text(resource, "$schema"));
            Assert.Equal("https://datapackage.org/profiles/2.0/tabledialect.json", Text(resource["dialect"]!, "$schema"));
            Assert.Equal("https://datapackage.org/profiles/2.0/tableschema.json", Text(resource["schema"]!, "$schema"));
        }
    }

    // Data Package, "name": lower-case English letters and digits, '.', '-', '_'. "id": globally unique, for example a UUID.
    [Fact]
    public void The_package_has_a_plain_name_and_an_identifier()
    {
        Assert.Matches(PlainName(), Text(_package, "name"));
        Assert.Equal(Path.GetFileName(_run).ToLowerInvariant(), Text(_package, "name"));
        Assert.StartsWith("urn:uuid:", Text(_package, "id"), StringComparison.Ordinal);
        Assert.Equal('8', Guid.ParseExact(Text(_package, "id")[9..], "D").ToString()[14]);
    }

    // Data Package, "created": a date-time of RFC 3339, section 5.6.
    [Fact]
    public void The_time_of_creation_is_of_RFC_3339() =>
        Assert.True(DateTimeOffset.TryParseExact(
            Text(_package, "created"), "yyyy-MM-dd'T'HH:mm:ss.fffK", CultureInfo.InvariantCulture, DateTimeStyles.None, out _));

    // Data Package, "resources": required, at least one. "title", "description": strings.
    [Fact]
    public void There_are_resources_a_title_and_a_description()
    {
        Assert.Equal(["pulses", "speed", "events"], Resources().Select(resource => Text(resource, "name")));
        Assert.Equal("Größe 1, 2027-03-14 09:26:53 UTC", Text(_package, "title"));
        Assert.NotEmpty(Text(_package, "description"));
    }

    // Data Resource, "name": required, unique, plain. "path" or "data": one of the two; Glossary, "URL or Path": relative, POSIX, no '..'.
    [Fact]
    public void Each_resource_has_a_name_of_its_own_and_the_path_of_a_file_beside_the_descriptor()
    {
        foreach (JsonObject resource in Resources())
        {
            Assert.Matches(PlainName(), Text(resource, "name"));
            Assert.False(resource.ContainsKey("data"));
            Assert.Matches("^[a-z]+\\.csv$", Text(resource, "path"));
            Assert.True(File.Exists(Path.Combine(_run, Text(resource, "path"))));
        }

        Assert.Distinct(Resources().Select(resource => Text(resource, "name")));
    }

    // Data Resource, "type", "format", "mediatype", "encoding", "bytes", "hash" ({algorithm}:{hash}, the name in lower case).
    [Fact]
    public void Each_resource_says_what_its_file_is()
    {
        foreach (JsonObject resource in Resources())
        {
            Assert.Equal("table", Text(resource, "type"));
            Assert.Equal("csv", Text(resource, "format"));
            Assert.Equal("text/csv", Text(resource, "mediatype"));
            Assert.Equal("utf-8", Text(resource, "encoding"));
            Assert.Equal(new FileInfo(Path.Combine(_run, Text(resource, "path"))).Length, (long)resource["bytes"]!);
            Assert.Matches("^sha256:[0-9a-f]{64}$", Text(resource, "hash"));
        }
    }

    // Table Dialect, "header", "delimiter", "lineTerminator", "quoteChar", "doubleQuote".
    [Fact]
    public void The_dialect_is_the_one_that_the_files_are_written_in()
    {
        foreach (JsonObject resource in Resources())
        {
            JsonNode dialect = resource["dialect"]!;
            Assert.True((bool)dialect["header"]!);
            Assert.True((bool)dialect["doubleQuote"]!);
            Assert.Equal(",", Text(dialect, "delimiter"));
            Assert.Equal("\n", Text(dialect, "lineTerminator"));
            Assert.Equal("\"", Text(dialect, "quoteChar"));
            Assert.DoesNotContain('\r', File.ReadAllText(Path.Combine(_run, Text(resource, "path"))));
        }
    }

    // Table Schema, "fields": required; by default they match the columns in number and order. Field, "name": required, unique.
    // "type": one of the standard's types. "missingValues": an array of unique strings.
    [Fact]
    public void The_fields_are_the_columns_in_order_each_of_a_type_of_the_standard()
    {
        foreach (JsonObject resource in Resources())
        {
            string header = File.ReadLines(Path.Combine(_run, Text(resource, "path"))).First();
            Assert.Equal(header.Split(','), Fields(resource).Select(field => Text(field, "name")));
            Assert.Distinct(Fields(resource).Select(field => Text(field, "name")));
            Assert.All(Fields(resource), field => Assert.Contains(Text(field, "type"), new[] { "number", "integer", "string" }));
            Assert.All(Fields(resource), field => Assert.NotEmpty(Text(field, "description")));
            Assert.Equal([""], resource["schema"]!["missingValues"]!.AsArray().Select(value => (string)value!));
        }
    }

    // Table Schema, "Field constraints": required (boolean), minimum (of the field's type), enum (array, unique, at least one).
    [Fact]
    public void The_constraints_are_those_of_the_standard_and_hold()
    {
        foreach (JsonObject resource in Resources())
        {
            List<string[]> rows = Rows(Path.Combine(_run, Text(resource, "path")));
            foreach ((JsonObject field, int column) in Fields(resource).Select((field, column) => (field, column)))
            {
                JsonObject constraints = field["constraints"]?.AsObject() ?? [];
                Assert.All(constraints, constraint => Assert.Contains(constraint.Key, new[] { "required", "minimum", "enum" }));
                IEnumerable<string> values = rows.Select(row => row[column]);
                if (constraints["required"] is { } required)
                    Assert.True((bool)required && values.All(value => value.Length > 0));
                if (constraints["minimum"] is { } minimum)
                    Assert.All(values.Where(value => value.Length > 0), value => Assert.True(double.Parse(value) >= (double)minimum));
                if (constraints["enum"] is { } words)
                    Assert.All(values, value => Assert.Contains(value, words.AsArray().Select(word => (string)word!)));
            }
        }
    }

    // run-folder: every column with its unit. The standard lets a field have members of one's own.
    [Fact]
    public void Every_column_of_a_quantity_says_its_unit()
    {
        foreach (JsonObject field in Resources().SelectMany(Fields).Where(field => Text(field, "type") == "number"))
            Assert.NotEmpty(Text(field, "unit"));
    }

    [GeneratedRegex("^[a-z0-9._-]+$")]
    private static partial Regex PlainName();

    private static string Text(JsonNode node, string member) => (string)node[member]!;

    private static IEnumerable<JsonObject> Fields(JsonObject resource) => resource["schema"]!["fields"]!.AsArray().Select(field => field!.AsObject());

    private IEnumerable<JsonObject> Resources() => _package["resources"]!.AsArray().Select(resource => resource!.AsObject());

    /// <summary>Rows behind the header; quoted cells after RFC 4180.</summary>
    private static List<string[]> Rows(string path)
    {
        MatchCollection cells = Cell().Matches(File.ReadAllText(path));
        var rows = new List<string[]>();
        var row = new List<string>();
        foreach (Match cell in cells.Where(cell => cell.Length > 0))
        {
            row.Add(cell.Groups["quoted"].Success ? cell.Groups["quoted"].Value.Replace("\"\"", "\"", StringComparison.Ordinal) : cell.Groups["plain"].Value);
            if (cell.Groups["end"].Value != "\n")
                continue;
            rows.Add([.. row]);
            row.Clear();
        }

        return rows[1..];
    }

    [GeneratedRegex("(\"(?<quoted>([^\"]|\"\")*)\"|(?<plain>[^,\"\n]*))(?<end>,|\n)")]
    private static partial Regex Cell();
}
