using System.Text.Json;

namespace Acquire.Service.Capture;

/// <summary>Finds the lines of a JSON file.</summary>
internal static class JsonLines
{
    /// <summary>The place of a property as ", line 12", or empty where the file does not say.</summary>
    /// <param name="file">The file.</param>
    /// <param name="path">The property's name and those of the objects that it stands in, outermost first, whatever their case.</param>
    public static string LineOf(string file, IReadOnlyList<string> path)
    {
        byte[] bytes;
        try
        {
            bytes = File.ReadAllBytes(file);
        }
        catch (IOException)
        {
            return "";
        }

        long? at = Find(bytes, path);
        return at is null ? "" : $", line {1 + bytes.AsSpan(0, (int)at.Value).Count((byte)'\n')}";
    }

    private static long? Find(byte[] bytes, IReadOnlyList<string> path)
    {
        var reader = new Utf8JsonReader(bytes, new JsonReaderOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
        int matched = 0;
        while (reader.Read())
        {
            if (reader.TokenType != JsonTokenType.PropertyName || reader.CurrentDepth != matched + 1) continue;
            if (!string.Equals(reader.GetString(), path[matched], StringComparison.OrdinalIgnoreCase)) continue;
            matched++;
            if (matched == path.Count) return reader.TokenStartIndex;
        }

        return null;
    }
}
