namespace Acquire.Service.Commands;

/// <summary>Finds the name that someone probably meant.</summary>
internal static class NearestName
{
    /// <summary>The name with the fewest edits to <paramref name="typed"/>, or null where none is near: more than two edits
    /// away, or more than half of what was typed.</summary>
    public static string? To(string typed, IEnumerable<string> names)
    {
        string? nearest = null;
        int fewest = Math.Min(2, typed.TrimStart('-').Length / 2) + 1;
        foreach (string name in names)
        {
            int edits = Edits(typed, name);
            if (edits < fewest)
            {
                fewest = edits;
                nearest = name;
            }
        }

        return nearest;
    }

    /// <summary>Edit distance: letters put in, taken out, replaced or swapped with the next, whatever their case.</summary>
    public static int Edits(string a, string b)
    {
        int[,] d = new int[a.Length + 1, b.Length + 1];
        for (int i = 0; i <= a.Length; i++) d[i, 0] = i;
        for (int j = 0; j <= b.Length; j++) d[0, j] = j;
        for (int i = 1; i <= a.Length; i++)
        {
            for (int j = 1; j <= b.Length; j++)
            {
                int replaced = d[i - 1, j - 1] + (Same(a[i - 1], b[j - 1]) ? 0 : 1);
                d[i, j] = Math.Min(replaced, Math.Min(d[i - 1, j], d[i, j - 1]) + 1);
                bool swapped = i > 1 && j > 1 && Same(a[i - 1], b[j - 2]) && Same(a[i - 2], b[j - 1]);
                if (swapped) d[i, j] = Math.Min(d[i, j], d[i - 2, j - 2] + 1);
            }
        }

        return d[a.Length, b.Length];
    }

    private static bool Same(char x, char y) => char.ToUpperInvariant(x) == char.ToUpperInvariant(y);
}
