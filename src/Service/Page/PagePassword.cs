using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Acquire.Recording;

namespace Acquire.Service.Page;

/// <summary>The password of the page: of it only a slow hash is kept, in a file.</summary>
/// <remarks>PBKDF2 (RFC 8018, 5.2) with HMAC-SHA-512, salted.</remarks>
internal static class PagePassword
{
    /// <summary>Shortest password that is taken.</summary>
    public const int Shortest = 8;

    /// <summary>Longest password that is taken or tried.</summary>
    public const int Longest = 200;

    private const int Iterations = 210_000; // what OWASP's sheet on storing passwords asks for with SHA-512, from memory
    private const int MostIterations = 10_000_000;
    private const int SaltBytes = 16;
    private const int HashBytes = 32;
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <summary>What is wrong with a new password; null where nothing is.</summary>
    public static string? Problem(string password) =>
        password.Length is >= Shortest and <= Longest && !password.Any(char.IsControl) ? null : $"a password of {Shortest} to {Longest} characters in one line is needed";

    /// <summary>Writes the hash of a new password; sessions under the old one are over.</summary>
    /// <exception cref="IOException">The file cannot be written.</exception>
    public static void Write(string file, string password)
    {
        byte[] salt = RandomNumberGenerator.GetBytes(SaltBytes);
        byte[] hash = Hash(password, salt, Iterations);
        string unfinished = file + ".new";
        DurableFolder.Make(Path.GetDirectoryName(file)!);
        File.Delete(unfinished);
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows()) options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.GroupRead; // the service's group
        using (var stream = new FileStream(unfinished, options))
        {
            stream.Write(JsonSerializer.SerializeToUtf8Bytes(new Kept(1, "PBKDF2-HMAC-SHA-512", Iterations, Convert.ToBase64String(salt), Convert.ToBase64String(hash)), Json));
            stream.Flush(flushToDisk: true);
        }

        File.Move(unfinished, file, overwrite: true);
    }

    /// <summary>Reads the file.</summary>
    /// <returns>What is kept; null with what is wrong in <paramref name="problem"/>.</returns>
    public static KeptPassword? Read(string file, out string? problem)
    {
        problem = null;
        try
        {
            if (!File.Exists(file))
                problem = $"no password is set: acquire serve --set-password sets it (in {file})";
            else if (new FileInfo(file).Length < 10_000 && JsonSerializer.Deserialize<Kept>(File.ReadAllBytes(file), Json) is { Version: 1, Iterations: > 0 and <= MostIterations } kept)
                return new KeptPassword(Convert.FromBase64String(kept.Salt), Convert.FromBase64String(kept.Hash), kept.Iterations);
            else
                problem = $"{file} is no password of this version: acquire serve --set-password writes it anew";
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException or FormatException or ArgumentNullException)
        {
            problem = $"{file} cannot be read ({e.Message.TrimEnd('.')}): acquire serve --set-password writes it anew";
        }

        return null;
    }

    internal static byte[] Hash(string password, byte[] salt, int iterations) =>
        Rfc2898DeriveBytes.Pbkdf2(Encoding.UTF8.GetBytes(password), salt, iterations, HashAlgorithmName.SHA512, HashBytes);

    private sealed record Kept(int Version, string Algorithm, int Iterations, string Salt, string Hash);
}

/// <summary>A password as it is kept.</summary>
internal sealed record KeptPassword(byte[] Salt, byte[] Hash, int Iterations)
{
    /// <summary>Names it in the cookies of those who signed in with it, so that a new one ends their sessions.</summary>
    public string Stamp => Convert.ToHexString(SHA256.HashData([.. Salt, .. Hash]))[..16];

    /// <summary>Whether a password is this; takes the same time either way.</summary>
    public bool Is(string password) =>
        password.Length is > 0 and <= PagePassword.Longest && CryptographicOperations.FixedTimeEquals(PagePassword.Hash(password, Salt, Iterations), Hash);
}
