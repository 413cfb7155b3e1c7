using System.CommandLine;
using System.Globalization;
using Acquire.Recording;
using Acquire.Results.Planning;
using Acquire.Results.Statistics;
using Acquire.Service.Display;
using Acquire.Service.Plans;
using Acquire.Service.Runs;

namespace Acquire.Service.Commands;

/// <summary><c>acquire plan</c>: writes a plan of runs, and tells how far one is done.</summary>
internal sealed class PlanCommand
{
    private const string UsualFile = "plan.csv";
    private const double UsualPower = 80;
    private const double UsualLevel = 5;

    private readonly Surroundings _surroundings;
    private readonly Argument<string?> _file = new("file") { HelpName = "FILE", Description = "The plan's sheet. With --factor it is written [default: plan.csv]; else it is said what of it is done, spoilt and next.", Arity = ArgumentArity.ZeroOrOne };
    private readonly Option<string[]> _factors = new("--factor") { HelpName = "name=v1,v2,…", Description = "Values to be tried: of top, base, cover or operator, or of a numeric factor with its unit in the name. Given again, every combination is spun." };
    private readonly Option<string[]> _also = new("--also") { HelpName = "key=value,…", Description = "One more set-up beside the combinations, such as cover=none; may be given again." };
    private readonly NumberOption _repeats = new("--repeats", "N", "How often each set-up is spun: one block for each time.", 1, 1000, "");
    private readonly Option<string> _detect = new("--detect") { HelpName = "PERCENT", Description = "Instead: as often as it takes to find a difference of so many percent of the decay time between two set-ups, such as 1%." };
    private readonly NumberOption _power = new("--power", "PERCENT", "Probability with which it is to be found. [default: 80]", 50, 99.9, "%");
    private readonly NumberOption _level = new("--alpha", "PERCENT", "Probability with which chance alone may look like a difference. [default: 5]", 0.01, 20, "%");
    private readonly NumberOption _scatter = new("--scatter", "PERCENT", "By how much runs of one set-up scatter (standard deviation of the decay time). [default: as the library's runs do]", 0.001, 50, "%");
    private readonly NumberOption _seed = new("--seed", "N", "Where the random order begins. [default: another each time; it is said]", 0, int.MaxValue, "");
    private readonly Option<bool> _overwrite = new("--overwrite") { Description = "Write over a file that is there." };
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document." };
    private readonly SpeedRangeOptions _range = new();
    private readonly RunSelection _selection = new(named: false, leavesOutSpoilt: true);

    private PlanCommand(Surroundings surroundings) => _surroundings = surroundings;

    /// <summary>Makes the command.</summary>
    public static Command Build(Surroundings surroundings)
    {
        var command = new Command("plan", "Plan runs in random order, as often as a difference needs; tell what of them is done.");
        new PlanCommand(surroundings).AddTo(command);
        HelpText.Attach(command,
        [
            "acquire plan --factor clearance_mm=4,6,9 --also cover=none --repeats 4",
            "acquire plan covers.csv --factor cover=none,ring --factor base=glass,steel --detect 1% --seed 7",
            "acquire plan covers.csv",
        ]);
        return command;
    }

    private void AddTo(Command command)
    {
        command.Arguments.Add(_file);
        foreach (Option option in (Option[])[_factors, _also, _repeats.Option, _detect, _power.Option, _level.Option, _scatter.Option, _seed.Option]) command.Options.Add(option);
        _range.AddTo(command);
        command.Options.Add(_overwrite);
        command.Options.Add(_json);
        _selection.AddTo(command);
        command.SetAction(Run);
    }

    private int Run(ParseResult call)
    {
        string[] factors = call.GetValue(_factors) ?? [];
        string[] also = call.GetValue(_also) ?? [];
        if (factors.Length + also.Length > 0) return Make(call, factors, also);
        Option[] ofMaking = [_repeats.Option, _detect, _power.Option, _level.Option, _scatter.Option, _seed.Option, _overwrite];
        if (Array.Find(ofMaking, o => call.GetResult(o) is { Implicit: false }) is { } option)
            return _surroundings.Refuse("plan", $"{option.Name} is for a plan to be made, which needs --factor name=v1,v2,…");
        return call.GetValue(_file) is { } file ? Status(call, _surroundings.FullPath(file))
            : _surroundings.Refuse("plan", "--factor name=v1,v2,… makes a plan; a plan's FILE alone tells what of it is done");
    }

    private int Make(ParseResult call, string[] factors, string[] also)
    {
        var problems = new List<string>();
        PlanSetups setups = PlanSetups.Of(factors, also, problems);
        double level = (_level.Read(call, problems) ?? UsualLevel) / 100;
        double power = (_power.Read(call, problems) ?? UsualPower) / 100;
        double? detect = Detect(call, problems);
        double? repeats = Whole(_repeats, call, problems);
        double? seed = Whole(_seed, call, problems);
        double? sd = _scatter.Read(call, problems) / 100;
        if ((repeats is null) == (detect is null) && problems.Count == 0)
            problems.Add(repeats is null ? "how often? --repeats N, or --detect PERCENT for as often as that takes" : "--repeats and --detect are given at once; allowed is one of them");
        string file = _surroundings.FullPath(call.GetValue(_file) ?? UsualFile);
        if (FileProblem(file, call.GetValue(_overwrite)) is { } wrong) problems.Add(wrong);
        if (_range.Read(call, out string? problem) is not { } range || problems.Count > 0) return _surroundings.Refuse("plan", problem is null ? problems : problems.Append(problem));
        if (Repeats(call, detect, (int?)repeats, sd, range, level, power, out problem) is not { } plan) return _surroundings.Refuse("plan", problem!);
        if ((long)plan.Repeats * setups.Setups.Count > BlockedOrder.MostRuns)
            return _surroundings.Refuse("plan", FormattableString.Invariant($"{setups.Setups.Count} set-ups, each {plan.Repeats} times, are {(long)plan.Repeats * setups.Setups.Count} runs; allowed are {BlockedOrder.MostRuns}"));
        int from = (int)(seed ?? Random.Shared.Next(1, 100_000));
        PlanSheet sheet = Sheet(setups, plan.Repeats, from, _range.IsGiven(call) || plan.Library is not null ? range : null);
        if (!Write(sheet, file, call.GetValue(_overwrite), out problem)) return _surroundings.Refuse("plan", problem!);
        if (call.GetValue(_json)) JsonAnswer.Write(_surroundings.Out, writer => PlanJson.WriteMade(writer, sheet, file, from, plan, range));
        else SayMade(sheet, file, from, plan, range);
        return ExitCode.Done;
    }

    private PlanSheet Sheet(PlanSetups setups, int repeats, int seed, SpeedRange? speeds)
    {
        string id = FormattableString.Invariant($"{_surroundings.Time.GetUtcNow():yyyyMMdd'T'HHmmss'Z'}-seed-{seed}");
        PlanRow[] rows = [.. BlockedOrder.Of(setups.Setups.Count, repeats, seed).Select((run, i) =>
            new PlanRow(i + 1, run.Block, [.. setups.Keys.Zip(setups.Setups[run.Setup])], speeds))];
        return new PlanSheet(id, setups.Keys, rows);
    }

    private PlanRepeats? Repeats(ParseResult call, double? detect, int? repeats, double? sd, SpeedRange range, double level, double power, out string? problem)
    {
        problem = null;
        if (_selection.Folder(call, _surroundings, out problem) is null) return null;
        IReadOnlyList<RunData>? runs = sd is not null ? null : _selection.Select(call, _surroundings, out problem);
        if (runs is null && sd is null && _selection.IsFiltered(call)) return null;
        Repeatability? library = runs is null ? null : PlanRepeats.Of(runs, range);
        KnownScatter? scatter = sd is { } given ? new KnownScatter(given, double.PositiveInfinity)
            : library is { IsKnown: true, Variance: > 0 } known ? new KnownScatter(known.Sd, known.DegreesOfFreedom) : null;
        problem = null;
        double usualS = Robust.Median((runs ?? []).Select(r => r.Descriptor.Result.SpinTimeS).Where(double.IsFinite));
        if (repeats is { } n) return new PlanRepeats(n, scatter, scatter is null ? null : library, null, level, power) { UsualSpinS = usualS };
        if (scatter is not { } s)
        {
            problem = FormattableString.Invariant($"--detect: the library has no two runs of one set-up that were both seen from {range.FromRpm:0.#} to {range.ToRpm:0.#} rpm, so that nobody knows how runs scatter; spin one set-up three times or more first, choose other speeds (--from, --to), or give --scatter PERCENT");
            return null;
        }

        var needed = new RepeatsNeeded(Math.Log(1 + detect!.Value), s, level, power);
        if (needed.Advised is { } advised) return new PlanRepeats(advised, scatter, library, needed, level, power) { UsualSpinS = usualS };
        problem = FormattableString.Invariant($"--detect: at a scatter of {PlanText.Percent(s.Sd)} %{(library is { } l ? $", known from {PlanText.Count(l.DegreesOfFreedom, "degree")} of freedom," : "")} a difference of {PlanText.Percent(detect.Value)} % would take more than {Power.MostRuns} repeats; look for a larger one, or make runs scatter less");
        return null;
    }

    private double? Detect(ParseResult call, List<string> problems)
    {
        if (call.GetValue(_detect) is not { } text) return null;
        if (double.TryParse(text.TrimEnd('%', ' '), NumberStyles.Float, CultureInfo.InvariantCulture, out double percent) && percent is >= 0.01 and <= 100) return percent / 100;
        problems.Add($"--detect: '{text}' on the command line; allowed is a number of percent from 0.01 to 100, such as 1%");
        return null;
    }

    private static double? Whole(NumberOption option, ParseResult call, List<string> problems)
    {
        double? value = option.Read(call, problems);
        if (value is { } v && Math.Floor(v) != v) problems.Add($"{option.Option.Name}: '{call.GetValue(option.Option)}' on the command line; allowed is a whole number");
        return value;
    }

    private static string? FileProblem(string file, bool overwrite)
    {
        string? folder = Path.GetDirectoryName(file);
        return Directory.Exists(file) ? $"'{file}' is a folder; allowed is a file"
            : !Directory.Exists(folder) ? $"there is no folder '{folder}'"
            : File.Exists(Path.Combine(folder, "datapackage.json")) ? $"'{file}' is in a run's folder, which is kept as it was written; allowed is any other folder"
            : File.Exists(file) && !overwrite ? $"'{file}' is there already; allowed is another name, or --overwrite" : null;
    }

    // Whole or not at all; and not over a file that has come meanwhile.
    private static bool Write(PlanSheet sheet, string file, bool overwrite, out string? problem)
    {
        string part = file + ".part";
        try
        {
            using (FileStream stream = File.Create(part)) sheet.Write(stream);
            File.Move(part, file, overwrite);
            problem = null;
            return true;
        }
        catch (IOException) when (File.Exists(file) && !overwrite)
        {
            problem = FileProblem(file, overwrite);
            return false;
        }
        finally
        {
            File.Delete(part);
        }
    }

    private void SayMade(PlanSheet sheet, string file, int seed, PlanRepeats plan, SpeedRange range)
    {
        TextWriter output = _surroundings.Out;
        output.WriteLine(PlanText.Title(sheet, seed, plan));
        output.WriteLine();
        foreach (string reason in PlanText.Reasons(plan, range)) output.WriteLine(reason);
        if (PlanText.Duration(sheet, plan) is { Length: > 0 } duration) output.WriteLine(duration);
        output.WriteLine();
        CompareText.WriteTable(_surroundings, PlanText.Headings(sheet), sheet.Rows.Select(PlanText.Cells));
        output.WriteLine();
        output.WriteLine(PlanText.Rule(sheet));
        output.WriteLine($"Spin them with: acquire capture --port PORT --plan {Path.GetRelativePath(_surroundings.CurrentFolder, file)}");
        output.WriteLine(file);
        output.Flush();
    }

    private int Status(ParseResult call, string file)
    {
        if (!File.Exists(file)) return _surroundings.Refuse("plan", $"there is no file '{file}'; --factor name=v1,v2,… makes a plan");
        if (_selection.Folder(call, _surroundings, out string? problem) is not { } library) return _surroundings.Refuse("plan", problem!);
        try
        {
            PlanSheet sheet = PlanSheetReader.Read(file);
            IReadOnlyList<LibraryRun> all = RunLibrary.List(library);
            foreach (LibraryRun run in all.Where(r => r.Descriptor is null)) _surroundings.Error.WriteLine($"acquire plan: {run.Name} cannot be read and counts for nothing: {run.Problem}");
            PlanProgress progress = PlanProgress.Of(sheet, all.Where(r => r.Descriptor is not null).Select(r => new PlannedRun(r.Name, r.Descriptor!)));
            if (call.GetValue(_json)) JsonAnswer.Write(_surroundings.Out, writer => PlanJson.WriteProgress(writer, progress, file));
            else PlanStatusText.Write(progress, _surroundings);
            return ExitCode.Done;
        }
        catch (RunFormatException e)
        {
            return _surroundings.Refuse("plan", e.Message);
        }
    }
}
