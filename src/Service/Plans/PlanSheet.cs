using System.Globalization;
using System.Text;
using nietras.SeparatedValues;

namespace Acquire.Service.Plans;

/// <summary>A plan of runs, in the order in which they are to be spun. As a file it is a table of separated values, described in the contributors' guide.</summary>
/// <param name="Id">Names the plan in the runs that follow it.</param>
/// <param name="Keys">What of the set-up it says, in the order of its columns.</param>
/// <param name="Rows">Its rows, one at least.</param>
internal sealed record PlanSheet(string Id, IReadOnlyList<string> Keys, IReadOnlyList<PlanRow> Rows)
{
    /// <summary>Name of the column of the plan's own name.</summary>
    public const string IdColumn = "plan";

    /// <summary>Name of the column of rows' numbers.</summary>
    public const string RowColumn = "row";

    /// <summary>Name of the column of blocks.</summary>
    public const string BlockColumn = "block";

    /// <summary>Name of the column of the higher speed.</summary>
    public const string FromColumn = "from_rpm";

    /// <summary>Name of the column of the lower speed.</summary>
    public const string ToColumn = "to_rpm";

    /// <summary>What stands before a factor's name at the head of its column, so that columns added by hand are no factors.</summary>
    public const string FactorPrefix = "factors.";

    /// <summary>Columns that are not the plan's, which are passed over.</summary>
    public IReadOnlyList<string> OtherColumns { get; init; } = [];

    /// <summary>How many blocks there are.</summary>
    public int Blocks => Rows.Select(r => r.Block).Distinct().Count();

    /// <summary>Writes it; a byte-order mark comes first only where a spreadsheet would else misread letters.</summary>
    public void Write(Stream stream)
    {
        bool speeds = Rows.Any(r => r.Speeds is not null);
        bool plain = Rows.All(r => r.Setup.All(s => Ascii.IsValid(s.Value)));
        using var text = new StreamWriter(stream, new UTF8Encoding(encoderShouldEmitUTF8Identifier: !plain), leaveOpen: true) { NewLine = "\n" };
        using SepWriter writer = Sep.New(',').Writer(o => o with { Escape = true }).To(text, leaveOpen: true);
        foreach (PlanRow row in Rows)
        {
            using SepWriter.Row line = writer.NewRow();
            line[IdColumn].Set(Id);
            line[RowColumn].Format(row.Row);
            line[BlockColumn].Format(row.Block);
            foreach ((string key, string value) in row.Setup) line[PlanRow.IsText(key) ? key : FactorPrefix + key].Set(value);
            if (!speeds) continue;
            line[FromColumn].Set(Number(row.Speeds?.FromRpm));
            line[ToColumn].Set(Number(row.Speeds?.ToRpm));
        }
    }

    private static string Number(double? value) => value?.ToString("R", CultureInfo.InvariantCulture) ?? "";
}
