using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Service.Commands;

namespace Acquire.Service.Runs;

/// <summary>Which runs a command works on: named ones, or those of the library that are like a filter.</summary>
internal sealed class RunSelection
{
    private readonly Argument<string[]>? _runs;
    private readonly LibraryOption _library = new();
    private readonly Option<string[]> _where = new("--where")
    {
        HelpName = "KEY=VALUE",
        Description = "Runs of the library with this top, base, cover, operator or factor; KEY=VALUE[,KEY=VALUE], repeatable: all must hold.",
    };

    private readonly Option<string> _since = new("--since") { HelpName = "DATE", Description = "Runs begun on that day or later, such as 2027-03-14 (UTC); a time may follow: 2027-03-14T09:30." };
    private readonly Option<string> _until = new("--until") { HelpName = "DATE", Description = "Runs begun on that day or before." };

    private readonly Option<bool>? _withSpoilt;
    private readonly List<(string Run, string Why)> _leftOut = [];

    /// <summary>The options for a command.</summary>
    /// <param name="named">Whether runs can be named as arguments.</param>
    /// <param name="leavesOutSpoilt">Whether runs that are marked as spoilt are left out where they are not named.</param>
    public RunSelection(bool named, bool leavesOutSpoilt = false)
    {
        if (named) _runs = new Argument<string[]>("run") { HelpName = "RUN", Description = "Run folders, or their names in the library.", Arity = ArgumentArity.ZeroOrMore };
        if (leavesOutSpoilt) _withSpoilt = new Option<bool>("--with-spoilt") { Description = "Count runs that are marked as spoilt too (acquire edit RUN --spoilt)." };
    }

    /// <summary>Runs that were left out so far since they are marked as spoilt, with why.</summary>
    public IReadOnlyList<(string Run, string Why)> LeftOut => _leftOut;

    /// <summary>Gives a command these arguments and options.</summary>
    public void AddTo(Command command)
    {
        if (_runs is not null) command.Arguments.Add(_runs);
        command.Options.Add(_library.Option);
        command.Options.Add(_where);
        command.Options.Add(_since);
        command.Options.Add(_until);
        if (_withSpoilt is not null) command.Options.Add(_withSpoilt);
    }

    /// <summary>Whether the call filters the library's runs.</summary>
    public bool IsFiltered(ParseResult call) => (call.GetValue(_where) ?? []).Length > 0 || call.GetValue(_since) is not null || call.GetValue(_until) is not null;

    /// <summary>Finds the library.</summary>
    /// <returns>Its full path; or null with what is wrong in <paramref name="problem"/>.</returns>
    public string? Folder(ParseResult call, Surroundings surroundings, out string? problem) => _library.Folder(call, surroundings, out problem);

    /// <summary>The runs that the call names by its arguments, or by <c>--where</c>, <c>--since</c> and <c>--until</c>.</summary>
    /// <returns>At least one; or null with what is wrong in <paramref name="problem"/>.</returns>
    public IReadOnlyList<RunData>? Select(ParseResult call, Surroundings surroundings, out string? problem)
    {
        string[] named = _runs is null ? [] : call.GetValue(_runs) ?? [];
        string[] where = call.GetValue(_where) ?? [];
        bool filtered = IsFiltered(call);
        problem = named.Length > 0 && filtered ? "runs are named and filtered at once; give one or the other"
            : _runs is not null && named.Length == 0 && !filtered ? "which runs? Name them, or filter the library with --where, --since, --until" : null;
        if (problem is not null || _library.Folder(call, surroundings, out problem) is not { } library) return null;
        return named.Length > 0 ? Named(call.CommandResult.Command.Name, named, library, surroundings, out problem) : Filtered(call, where, library, surroundings, out problem);
    }

    /// <summary>The runs that a FILTER means: comma-separated run folders, or <c>key=value[,key=value]</c>, the latter within
    /// <c>--where</c>, <c>--since</c> and <c>--until</c> of the same call.</summary>
    /// <returns>At least one; or null with what is wrong in <paramref name="problem"/>.</returns>
    public IReadOnlyList<RunData>? Select(string filter, ParseResult call, Surroundings surroundings, out string? problem)
    {
        if (_library.Folder(call, surroundings, out problem) is not { } library) return null;
        string[] parts = filter.Split(',', StringSplitOptions.TrimEntries);
        bool isNames = parts.All(p => !p.Contains('=', StringComparison.Ordinal) || LibraryOption.Find(p, library, surroundings) is not null);
        return isNames ? Named(call.CommandResult.Command.Name, parts, library, surroundings, out problem)
            : Filtered(call, [.. call.GetValue(_where) ?? [], filter], library, surroundings, out problem);
    }

    private List<RunData>? Named(string command, string[] names, string library, Surroundings surroundings, out string? problem)
    {
        var folders = new List<string>();
        foreach (string name in names)
        {
            if (LibraryOption.Run(name, library, surroundings, out problem) is not { } folder) return null;
            if (folders.Contains(folder))
            {
                problem = $"the run '{name}' is named twice";
                return null;
            }

            folders.Add(folder);
        }

        List<RunData>? runs = Read(folders, out problem);
        foreach (RunData run in (runs ?? []).Where(r => _withSpoilt is not null && r.Descriptor.Spoilt is not null))
            surroundings.Error.WriteLine($"acquire {command}: {run.Name} is marked as spoilt ({run.Descriptor.Spoilt}); it counts since it is named");
        return runs;
    }

    /// <summary>The runs that the call filters the library for, read no further than their descriptors.</summary>
    /// <returns>At least one; or null with what is wrong in <paramref name="problem"/>.</returns>
    public IReadOnlyList<LibraryRun>? Listed(ParseResult call, Surroundings surroundings, out string? problem) =>
        _library.Folder(call, surroundings, out problem) is { } library ? Chosen(call, call.GetValue(_where) ?? [], library, surroundings, out problem) : null;

    private List<RunData>? Filtered(ParseResult call, string[] where, string library, Surroundings surroundings, out string? problem) =>
        Chosen(call, where, library, surroundings, out problem) is { } runs ? Read(runs.Select(r => r.Folder), out problem) : null;

    private LibraryRun[]? Chosen(ParseResult call, string[] where, string library, Surroundings surroundings, out string? problem)
    {
        if (RunFilter.Parse(where, out problem) is not { } filter
            || Moment(call, _since, endOfDay: false, out problem) is not { } since
            || Moment(call, _until, endOfDay: true, out problem) is not { } until)
            return null;
        IReadOnlyList<LibraryRun> all = RunLibrary.List(library);
        foreach (LibraryRun run in all.Where(r => r.Descriptor is null))
            surroundings.Error.WriteLine($"acquire {call.CommandResult.Command.Name}: {run.Name} is left out: {run.Problem}");
        LibraryRun[] readable = [.. all.Where(r => r.Descriptor is not null)];
        problem = readable.Length == 0 ? $"there are no runs in {library}" : filter.Problem([.. readable.Select(r => r.Descriptor!)]);
        if (problem is not null) return null;
        LibraryRun[] chosen = [.. readable.Where(r => filter.Holds(r.Descriptor!))];
        LibraryRun[] timely = [.. chosen.Where(r => r.Descriptor!.StartedAt >= since && r.Descriptor.StartedAt < until)];
        if (timely.Length == 0)
        {
            problem = $"none of the {chosen.Length} runs is of that time: they began from {Day(chosen[0])} to {Day(chosen[^1])}";
            return null;
        }

        LibraryRun[] left = [.. timely.Where(r => _withSpoilt is null || call.GetValue(_withSpoilt) || r.Descriptor!.Spoilt is null)];
        _leftOut.AddRange(timely.Except(left).Select(r => (r.Name, "it is marked as spoilt: " + r.Descriptor!.Spoilt)).Except(_leftOut).ToArray());
        if (left.Length > 0) return left;
        problem = timely.Length == 1 ? $"the only run, {timely[0].Name}, is marked as spoilt; --with-spoilt counts it" : $"all of the {timely.Length} runs are marked as spoilt; --with-spoilt counts them";
        return null;
    }

    private static List<RunData>? Read(IEnumerable<string> folders, out string? problem)
    {
        problem = null;
        try
        {
            return [.. folders.Select(RunData.Read)];
        }
        catch (RunFormatException e)
        {
            problem = e.Message;
            return null;
        }
    }

    private static DateTimeOffset? Moment(ParseResult call, Option<string> option, bool endOfDay, out string? problem)
    {
        problem = null;
        if (call.GetValue(option) is not { } text) return endOfDay ? DateTimeOffset.MaxValue : DateTimeOffset.MinValue;
        const DateTimeStyles Utc = DateTimeStyles.AssumeUniversal | DateTimeStyles.AdjustToUniversal;
        if (DateTimeOffset.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, Utc, out DateTimeOffset day))
            return endOfDay ? day.AddDays(1) : day;
        string[] formats = ["yyyy-MM-dd'T'HH:mm", "yyyy-MM-dd'T'HH:mm:ss", "yyyy-MM-dd'T'HH:mmK", "yyyy-MM-dd'T'HH:mm:ssK"];
        if (DateTimeOffset.TryParseExact(text, formats, CultureInfo.InvariantCulture, Utc, out DateTimeOffset time)) return time;
        problem = $"{option.Name}: '{text}'; allowed is a day such as 2027-03-14 or a time such as 2027-03-14T09:30 (UTC)";
        return null;
    }

    private static string Day(LibraryRun run) => run.Descriptor!.StartedAt.UtcDateTime.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
}
