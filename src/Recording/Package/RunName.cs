using System.Globalization;
using System.Text;

namespace Acquire.Recording;

/// <summary>Names of run folders: UTC time of the first pulse, then a slug of the top's name.</summary>
internal static class RunName
{
    private const string StampFormat = "yyyyMMdd'T'HHmmss'Z'";
    private const int StampLength = 16;
    private const int LongestSlug = 40;

    /// <summary>How Latin letters beyond ASCII are written without their signs. Globalisation is invariant, so the runtime decomposes
    /// nothing by itself.</summary>
    private static readonly (string Written, string Letters)[] Folds =
    [
        ("ae", "äæ"), ("oe", "öœ"), ("ue", "ü"), ("ss", "ß"), ("th", "þ"),
        ("a", "àáâãåāăąǎ"), ("c", "çćĉċč"), ("d", "ďđð"), ("e", "èéêëēĕėęěẽ"), ("g", "ĝğġģǧ"), ("h", "ĥħ"),
        ("i", "ìíîïĩīĭįǐı"), ("j", "ĵ"), ("k", "ķǩ"), ("l", "ĺļľŀł"), ("n", "ñńņňŉŋ"), ("o", "òóôõōŏőǒø"),
        ("r", "ŕŗř"), ("s", "śŝşšș"), ("t", "ţťŧț"), ("u", "ùúûũūŭůűųǔ"), ("w", "ŵẁẃẅ"), ("y", "ýÿŷỳ"), ("z", "źżž"),
    ];

    public static string Of(DateTimeOffset startedAt, string top) =>
        $"{startedAt.UtcDateTime.ToString(StampFormat, CultureInfo.InvariantCulture)}-{Slug(top)}";

    /// <summary>What <see cref="Slug"/> leaves as it is, for people.</summary>
    public static string SlugWords => $"lower-case letters a to z, digits and single hyphens between them, up to {LongestSlug}";

    /// <summary>A folder's name with another slug after its time; where it begins with none, after the run's.</summary>
    public static string WithSlug(string folderName, DateTimeOffset startedAt, string slug) =>
        StartOf(folderName) is null ? Of(startedAt, slug) : $"{folderName[..StampLength]}-{slug}";

    /// <summary>The time that a folder's name begins with, or null.</summary>
    public static DateTimeOffset? StartOf(string folderName) =>
        folderName.Length >= StampLength
        && DateTimeOffset.TryParseExact(
            folderName.AsSpan(0, StampLength), StampFormat, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out DateTimeOffset start)
            ? start
            : null;

    /// <summary>Lower-case ASCII letters, digits and single hyphens; <c>run</c> where nothing is left.</summary>
    public static string Slug(string text)
    {
        var slug = new StringBuilder();
        foreach (char c in text.ToLowerInvariant())
        {
            if (char.IsAsciiLetterOrDigit(c))
                slug.Append(c);
            else if (Fold(c) is { } letters)
                slug.Append(letters);
            else if (!IsCombining(c) && c is not ('\'' or '’') && slug.Length > 0 && slug[^1] != '-')
                slug.Append('-');
            if (slug.Length >= LongestSlug)
                break;
        }

        string trimmed = slug.ToString().Trim('-');
        return trimmed.Length > 0 ? trimmed : "run";
    }

    private static string? Fold(char c) => Array.Find(Folds, fold => fold.Letters.Contains(c)).Written;

    private static bool IsCombining(char c) => char.GetUnicodeCategory(c) == UnicodeCategory.NonSpacingMark;
}
