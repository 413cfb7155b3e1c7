using Acquire.Results.Statistics;

namespace Acquire.Results.Comparison;

/// <summary>The change of the whole spin from a start speed to the end, by integration of each group's mean loss over the speeds.</summary>
/// <param name="StartRpm">From where.</param>
/// <param name="EndRpm">To where.</param>
/// <param name="BaselineS">The baseline's time.</param>
/// <param name="VariantS">The variant's time.</param>
/// <param name="Change">The change, with the runs' scatter in its interval.</param>
/// <param name="Extended">What had to be extended beyond the speeds seen, for people; empty where nothing had.</param>
public sealed record WholeSpin(double StartRpm, double EndRpm, double BaselineS, double VariantS, Change Change, IReadOnlyList<string> Extended)
{
    private const int Cells = 40;

    /// <summary>Finds it; null where a group was not seen over enough speeds to say.</summary>
    /// <param name="baseline">The baseline's runs.</param>
    /// <param name="variant">The variant's runs.</param>
    /// <param name="startRpm">Speed at which the spin begins.</param>
    /// <param name="library">Repeatability for a group of one run.</param>
    public static WholeSpin? Of(IReadOnlyList<TimedRun> baseline, IReadOnlyList<TimedRun> variant, double startRpm, Repeatability library)
    {
        double end = Math.Max(Robust.Median(baseline.Select(r => r.LastRpm)), Robust.Median(variant.Select(r => r.LastRpm)));
        if (!(end > 0 && startRpm > end * 1.2))
            return null;
        double[] edges = [.. Enumerable.Range(0, Cells + 1).Select(i => startRpm * Math.Pow(end / startRpm, (double)i / Cells))];
        if (GroupCourse.Of(baseline, edges) is not { } first || GroupCourse.Of(variant, edges) is not { } second)
            return null;
        if (Change.Of(first.RunTimes(), second.RunTimes(), library) is not { } linear)
            return null;
        double difference = Math.Log(second.TotalS / first.TotalS);
        return new WholeSpin(
            startRpm, end, first.TotalS, second.TotalS, linear with { Logs = linear.Logs with { Difference = difference } },
            [.. first.Extended.Select(e => "baseline: " + e), .. second.Extended.Select(e => "variant: " + e)]);
    }
}

/// <summary>How long a group of runs takes for each cell of speed.</summary>
internal sealed class GroupCourse
{
    private const int FewestCells = 8;
    private const int Rounds = 30;
    private readonly double[] _edges;
    private readonly LogTime[][] _times;
    private readonly double[] _mean;
    private readonly double[] _run;

    private GroupCourse(double[] edges, LogTime[][] times)
    {
        (_edges, _times) = (edges, times);
        _mean = new double[edges.Length - 1];
        _run = new double[times.Length];
    }

    /// <summary>The time from the first edge to the last.</summary>
    public double TotalS => _mean.Sum(Math.Exp);

    /// <summary>Speeds at which no run of the group was seen.</summary>
    public List<string> Extended { get; } = [];

    public static GroupCourse? Of(IReadOnlyList<TimedRun> runs, double[] edges)
    {
        LogTime[][] times = [.. runs.Select(r => edges.Zip(edges.Skip(1), r.Time).ToArray()).Where(t => t.Count(c => c.IsKnown) >= FewestCells)];
        if (times.Length == 0)
            return null;
        var course = new GroupCourse(edges, times);
        course.FitRuns();
        course.Extend();
        return course;
    }

    /// <summary>For each run the logarithm of its whole time, each cell by its share of the group's time; where a run was not seen it stands
    /// to the group as it does elsewhere. Their mean scatters as the logarithm of the group's time does (delta method).</summary>
    public IEnumerable<LogTime> RunTimes()
    {
        double total = TotalS;
        for (int i = 0; i < _times.Length; i++)
        {
            (double sum, double u2) = (0, 0);
            for (int j = 0; j < _mean.Length; j++)
            {
                double share = Math.Exp(_mean[j]) / total;
                LogTime cell = _times[i][j];
                sum += share * (cell.IsKnown ? cell.Value : _mean[j] + _run[i]);
                u2 += cell.IsKnown ? share * share * cell.U * cell.U : 0;
            }

            yield return new LogTime(sum, Math.Sqrt(u2));
        }
    }

    // Times of cells and of runs as sums: a cell's mean and what sets a run apart, in turn until they rest.
    private void FitRuns()
    {
        for (int round = 0; round < Rounds; round++)
        {
            for (int j = 0; j < _mean.Length; j++)
                _mean[j] = Enumerable.Range(0, _times.Length).Where(i => _times[i][j].IsKnown).Select(i => _times[i][j].Value - _run[i]).DefaultIfEmpty(double.NaN).Average();
            for (int i = 0; i < _run.Length; i++)
                _run[i] = Enumerable.Range(0, _mean.Length).Where(j => _times[i][j].IsKnown).Average(j => _times[i][j].Value - _mean[j]);
            double middle = _run.Average();
            for (int i = 0; i < _run.Length; i++)
                _run[i] -= middle;
        }
    }

    // The logarithm of the loss goes on as a line of that of the speed, by the cells seen nearest.
    private void Extend()
    {
        int[] seen = [.. Enumerable.Range(0, _mean.Length).Where(j => double.IsFinite(_mean[j]))];
        foreach (int j in Enumerable.Range(0, _mean.Length).Except(seen).ToArray())
        {
            int[] near = [.. seen.OrderBy(s => Math.Abs(s - j)).Take(FewestCells)];
            (double a, double b) = MathNet.Numerics.Fit.Line(near.Select(LogSpeed).ToArray(), near.Select(s => LogDrop(s) - _mean[s]).ToArray());
            _mean[j] = LogDrop(j) - (a + (b * LogSpeed(j)));
        }

        if (seen[0] > 0)
            Extended.Add(FormattableString.Invariant($"no run was seen above {_edges[seen[0]]:F0} rpm; its loss from {_edges[0]:F0} rpm down to there is extended from below"));
        if (seen[^1] < _mean.Length - 1)
            Extended.Add(FormattableString.Invariant($"no run was seen below {_edges[seen[^1] + 1]:F0} rpm; its loss down to {_edges[^1]:F0} rpm is extended from above"));
        if (seen[^1] - seen[0] + 1 > seen.Length)
            Extended.Add("no run was seen at some speeds between; the loss there is that around them");
    }

    private double LogSpeed(int cell) => 0.5 * Math.Log(_edges[cell] * _edges[cell + 1]);

    private double LogDrop(int cell) => Math.Log(_edges[cell] - _edges[cell + 1]);
}
