using System.CommandLine;
using Acquire.Faults;

// Captures block threads of the pool that their sources' timers need.
ThreadPool.SetMinThreads(32, 32);
var seeds = new Option<int?>("--seeds") { Description = "Cases a suite; where it is not given, as many as the suite is meant to have." };
var from = new Option<int>("--from") { Description = "The first seed." };
var only = new Option<string[]>("--only") { Description = "Only these: " + string.Join(", ", AllSuites.List.Select(s => s.Name)) + "." };
var sample = new Option<bool>("--sample") { Description = "A few cases of each, within a minute." };
var minutes = new Option<double>("--minutes") { Description = "How long malformed lines are made up for.", DefaultValueFactory = _ => 10 };
var command = new RootCommand(
    "Breaks things on purpose: kills, power cuts, full disks, damaged files and lines, ports that go away; and captures for long. Prints a line a suite, then 'N passed, N failed'; "
    + "exit 1 where one failed. Example: scripts/faults --only kill --seeds 20")
{
    seeds, from, only, sample, minutes,
};
command.SetAction(result => Run(
    new Extent(result.GetValue(seeds), result.GetValue(from), result.GetValue(sample), result.GetValue(minutes)), result.GetValue(only) ?? []));
return command.Parse(args).Invoke();

static int Run(Extent extent, string[] only)
{
    string[] unknown = [.. only.Where(n => AllSuites.List.All(s => s.Name != n))];
    if (unknown.Length > 0 || extent.Cases < 1 || extent.First < 0 || !(extent.Minutes > 0))
    {
        Console.Error.WriteLine(unknown.Length > 0
            ? $"There is no suite '{unknown[0]}'. There are: {string.Join(", ", AllSuites.List.Select(s => s.Name))}."
            : "--seeds takes a whole number from 1 on, --from one from 0 on, --minutes a number above 0.");
        return 2;
    }

    long passed = 0;
    long failed = 0;
    foreach (Suite suite in AllSuites.List.Where(s => only.Length == 0 || only.Contains(s.Name)))
    {
        long began = TimeProvider.System.GetTimestamp();
        var tally = new Tally(suite.Name);
        try
        {
            suite.Break(extent, tally);
        }
        catch (Exception e)
        {
            tally.Fail("the suite itself: " + e);
        }

        passed += tally.Passed;
        failed += tally.Failed;
        Console.WriteLine(FormattableString.Invariant(
            $"{suite.Name}: {suite.About}: {tally.Passed} passed, {tally.Failed} failed{tally.Notes} ({TimeProvider.System.GetElapsedTime(began).TotalSeconds:F0} s)"));
    }

    Console.WriteLine($"{passed} passed, {failed} failed");
    return failed == 0 ? 0 : 1;
}
