using System.CommandLine;
using Acquire.Measure;
using Spectre.Console;

const int Usual = 200;
var seeds = new Option<int?>("--seeds") { Description = "Simulated runs an ensemble. [default: 200]" };
var from = new Option<int?>("--from") { Description = "The first seed: what was tuned on some seeds is checked on others. [default: 0]" };
var sample = new Option<bool>("--sample") { Description = "A few seeds of each, always the same, within a minute: a figure passes where chance explains what it is off its bar by. Ends with 'N passed, N failed'." };
var only = new Option<string[]>("--only") { Description = "Measure only these: " + string.Join(", ", AllEnsembles.List.Select(e => e.Name)) + "." };
var command = new RootCommand(
    "Measures the project's bars on simulated runs with known truth (invented data). Exit 1 where one falls short. "
    + "Example: scripts/measure --seeds 50 --only marks")
{
    seeds, from, only, sample,
};
command.SetAction(result =>
{
    (int? count, int? first, string[] names) = (result.GetValue(seeds), result.GetValue(from), result.GetValue(only) ?? []);
    if (!result.GetValue(sample)) return Run(new Seeds(first ?? 0, count ?? Usual), names);
    if (count is null && first is null && names.All(n => AllEnsembles.List.Any(e => e.Name == n))) return Sample.Run(names);
    Console.Error.WriteLine("--sample has seeds of its own: it takes no --seeds and no --from, and --only the names that --help lists.");
    return 2;
});
return command.Parse(args).Invoke();

static int Run(Seeds seeds, string[] only)
{
    string[] unknown = [.. only.Where(n => AllEnsembles.List.All(e => e.Name != n))];
    if (unknown.Length > 0 || seeds.Count < 1 || seeds.First < 0)
    {
        Console.Error.WriteLine(unknown.Length > 0
            ? $"There is no ensemble '{unknown[0]}'. There are: {string.Join(", ", AllEnsembles.List.Select(e => e.Name))}."
            : "--seeds takes a whole number from 1 on, --from one from 0 on.");
        return 2;
    }

    var table = new Table().AddColumns("ensemble", "what", "bar", "figure", "");
    bool all = true;
    foreach (Ensemble ensemble in AllEnsembles.List.Where(e => only.Length == 0 || only.Contains(e.Name)))
    {
        Console.Error.WriteLine($"{ensemble.Name}: {ensemble.About}, seeds {seeds.First} to {seeds.First + seeds.Count - 1}");
        foreach (Figure figure in ensemble.Measure(seeds))
        {
            table.AddRow(ensemble.Name, Markup.Escape(figure.What), Markup.Escape(figure.Required), Markup.Escape(figure.Found), figure.Holds ? "holds" : "FALLS SHORT");
            all &= figure.Holds;
        }
    }

    AnsiConsole.Profile.Width = 160;
    AnsiConsole.Write(table);
    return all ? 0 : 1;
}
