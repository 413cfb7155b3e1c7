using System.CommandLine;
using Acquire.Measure;
using Spectre.Console;

var seeds = new Option<int>("--seeds") { Description = "Simulated runs an ensemble.", DefaultValueFactory = _ => 200 };
var from = new Option<int>("--from") { Description = "The first seed: what was tuned on some seeds is checked on others." };
var only = new Option<string[]>("--only") { Description = "Measure only these: " + string.Join(", ", AllEnsembles.List.Select(e => e.Name)) + "." };
var command = new RootCommand(
    "Measures the project's bars on simulated runs with known truth (invented data). Exit 1 where one falls short. "
    + "Example: scripts/measure --seeds 50 --only marks")
{
    seeds, from, only,
};
command.SetAction(result => Run(new Seeds(result.GetValue(from), result.GetValue(seeds)), result.GetValue(only) ?? []));
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
