using System.Globalization;
using System.Text;
using System.Text.Json;

namespace Acquire.Service.Bodies;

/// <summary>A value of a JSON file that knows where it stands.</summary>
internal sealed class JsonPlace
{
    private JsonPlace(string path, int line) => (Path, Line) = (path, line);

    /// <summary>Its way from the top: <c>parts[1].radiusMm</c>; empty for the whole.</summary>
    public string Path { get; }

    /// <summary>The line on which it begins, from 1; 0 for one that was put in from elsewhere.</summary>
    public int Line { get; private init; }

    /// <summary>Members of an object by name, in order; null for anything else.</summary>
    public Dictionary<string, JsonPlace>? Members { get; private init; }

    /// <summary>Items of an array; null for anything else.</summary>
    public List<JsonPlace>? Items { get; private init; }

    /// <summary>The number, or null.</summary>
    public double? Number { get; private init; }

    /// <summary>The text, or null.</summary>
    public string? Text { get; private init; }

    /// <summary>What it is, for people.</summary>
    public string Found => Members is not null ? "an object"
        : Items is not null ? "a list"
        : Text is not null ? $"'{(Text.Length > 60 ? Text[..60] + "…" : Text)}'"
        : Number?.ToString("R", CultureInfo.InvariantCulture) ?? "neither a number nor a text";

    /// <summary>Reads a file's bytes.</summary>
    /// <param name="bytes">The file.</param>
    /// <param name="problem">Line and what is wrong where null is returned.</param>
    public static JsonPlace? Read(byte[] bytes, out string problem)
    {
        problem = "";
        ReadOnlySpan<byte> body = bytes.AsSpan().StartsWith(Encoding.UTF8.Preamble) ? bytes.AsSpan(Encoding.UTF8.Preamble.Length) : bytes;
        var reader = new Utf8JsonReader(body, new JsonReaderOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
        try
        {
            if (!reader.Read())
                throw new JsonException("nothing in it", "", 0, 0);
            JsonPlace whole = Value(ref reader, body, "");
            reader.Read();
            return whole;
        }
        catch (JsonException e)
        {
            problem = $"line {(e.LineNumber ?? 0) + 1}: found what is not JSON ({Short(e.Message)}), expected an object of a body's parts";
            return null;
        }
        catch (InvalidOperationException e)
        {
            problem = $"line {LineOf(body, reader.TokenStartIndex)}: found text that is not UTF-8 ({Short(e.Message)}), expected UTF-8";
            return null;
        }
    }

    /// <summary>The object with a member put in, or in another's place; it is said to come from elsewhere.</summary>
    public JsonPlace With(string name, string text)
    {
        var members = new Dictionary<string, JsonPlace>(Members!, StringComparer.Ordinal);
        bool isNumber = double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double number);
        members[name] = new JsonPlace(Join(Path, name), 0) { Number = isNumber ? number : null, Text = isNumber ? null : text };
        return new JsonPlace(Path, Line) { Members = members };
    }

    /// <summary>The object without a member.</summary>
    public JsonPlace Without(string name)
    {
        var members = new Dictionary<string, JsonPlace>(Members!, StringComparer.Ordinal);
        members.Remove(name);
        return new JsonPlace(Path, Line) { Members = members };
    }

    /// <summary>The object with another value for a member that it has.</summary>
    public JsonPlace With(string name, JsonPlace value)
    {
        var members = new Dictionary<string, JsonPlace>(Members!, StringComparer.Ordinal) { [name] = value };
        return new JsonPlace(Path, Line) { Members = members };
    }

    /// <summary>The list with one of its items changed.</summary>
    public JsonPlace With(int at, JsonPlace value) => new(Path, Line) { Items = [.. Items!.Select((item, i) => i == at ? value : item)] };

    private static JsonPlace Value(ref Utf8JsonReader reader, ReadOnlySpan<byte> body, string path)
    {
        int line = LineOf(body, reader.TokenStartIndex);
        switch (reader.TokenType)
        {
            case JsonTokenType.StartObject:
                return new JsonPlace(path, line) { Members = ReadMembers(ref reader, body, path) };
            case JsonTokenType.StartArray:
                var items = new List<JsonPlace>();
                while (reader.Read() && reader.TokenType != JsonTokenType.EndArray)
                    items.Add(Value(ref reader, body, $"{path}[{items.Count}]"));
                return new JsonPlace(path, line) { Items = items };
            case JsonTokenType.Number:
                return new JsonPlace(path, line) { Number = reader.TryGetDouble(out double number) ? number : double.NaN };
            case JsonTokenType.String:
                return new JsonPlace(path, line) { Text = reader.GetString() };
            default:
                return new JsonPlace(path, line);
        }
    }

    private static Dictionary<string, JsonPlace> ReadMembers(ref Utf8JsonReader reader, ReadOnlySpan<byte> body, string path)
    {
        var members = new Dictionary<string, JsonPlace>(StringComparer.Ordinal);
        while (reader.Read() && reader.TokenType != JsonTokenType.EndObject)
        {
            string name = reader.GetString()!;
            int line = LineOf(body, reader.TokenStartIndex);
            reader.Read();
            if (!members.TryAdd(name, Value(ref reader, body, Join(path, name))))
                throw new JsonException($"'{name}' a second time in one object", path, line - 1, 0);
        }

        return members;
    }

    private static string Join(string path, string name) => path.Length == 0 ? name : $"{path}.{name}";

    private static int LineOf(ReadOnlySpan<byte> body, long at) => 1 + body[..(int)Math.Min(at, body.Length)].Count((byte)'\n');

    // The parser adds where it was, and advice that fits no reader of a message.
    private static string Short(string message) => message.Split(" LineNumber:")[0].Split(" Path:")[0].TrimEnd('.', ' ');
}
