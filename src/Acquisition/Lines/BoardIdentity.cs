using System.Buffers;
using System.Buffers.Text;
using System.Text;

namespace Acquire.Acquisition.Lines;

/// <summary>What a board says of itself in a greeting.</summary>
/// <param name="TickHz">Ticks a second, at least 1.</param>
/// <param name="Bits">Width of the tick counter, 16 to 64; a line carries the lower 32.</param>
/// <param name="Boot">Different at each power-up.</param>
/// <param name="Name">The board's name.</param>
internal sealed record BoardIdentity(long TickHz, int Bits, int Boot, string Name)
{
    private const int NarrowestCounter = 16;
    private const int WidestCounter = 64;
    private const int LongestName = 16;
    private const long FastestHz = 100_000_000_000;
    private static readonly SearchValues<byte> NameCharacters = SearchValues.Create("abcdefghijklmnopqrstuvwxyz0123456789-"u8);

    /// <summary>Reads the body of a greeting, <c>H,1,tick_hz,bits,boot,name</c>; null where it is none of version 1.</summary>
    internal static BoardIdentity? Parse(ReadOnlySpan<byte> body)
    {
        bool good = Field(ref body).SequenceEqual("H"u8) & Field(ref body).SequenceEqual("1"u8)
            & TryNumber(Field(ref body), 1, FastestHz, out long tickHz)
            & TryNumber(Field(ref body), NarrowestCounter, WidestCounter, out long bits)
            & TryBoot(Field(ref body), out uint boot);
        return good && IsName(body) ? new BoardIdentity(tickHz, (int)bits, (int)boot, Encoding.ASCII.GetString(body)) : null;
    }

    // Takes the next field and the comma after it off the front.
    private static ReadOnlySpan<byte> Field(ref ReadOnlySpan<byte> rest)
    {
        int comma = rest.IndexOf((byte)',');
        ReadOnlySpan<byte> field = comma < 0 ? rest : rest[..comma];
        rest = comma < 0 ? default : rest[(comma + 1)..];
        return field;
    }

    private static bool TryBoot(ReadOnlySpan<byte> digits, out uint boot) => Hex.TryUpper(digits, out boot) && digits.Length == 4;

    private static bool TryNumber(ReadOnlySpan<byte> digits, long least, long most, out long value) =>
        Utf8Parser.TryParse(digits, out value, out int used) && used == digits.Length && digits[0] is >= (byte)'0' and <= (byte)'9'
            && value >= least && value <= most;

    private static bool IsName(ReadOnlySpan<byte> name) =>
        name.Length is >= 1 and <= LongestName && !name.ContainsAnyExcept(NameCharacters);
}
