namespace Acquire.Service.Page;

/// <summary>The speed of the spin under way so far: bounded, averaged over even steps that double where they become too many. For one thread.</summary>
internal sealed class SpinCurve
{
    /// <summary>The most points.</summary>
    public const int Most = 2000;

    /// <summary>Five looks of the page's.</summary>
    public const double UsualStepS = 0.5;

    private readonly double _firstStepS;
    private readonly List<double> _rpm = [];
    private double _sum;
    private int _count;
    private bool _any;

    /// <summary>Makes one without points.</summary>
    /// <param name="firstStepS">Seconds between two points at first.</param>
    public SpinCurve(double firstStepS = UsualStepS) => _firstStepS = StepS = firstStepS;

    /// <summary>Seconds between two points.</summary>
    public double StepS { get; private set; }

    /// <summary>Points so far.</summary>
    public int Count => _rpm.Count;

    /// <summary>Mean speed of each step from 0 s on, turns a minute; NaN where it was not known.</summary>
    public IReadOnlyList<double> Rpm => _rpm;

    /// <summary>Forgets the spin.</summary>
    public void Clear()
    {
        _rpm.Clear();
        (StepS, _sum, _count, _any) = (_firstStepS, 0, 0, false);
    }

    /// <summary>Adds what is known at a moment; moments must not go back.</summary>
    /// <param name="timeS">Seconds since the spin was first seen.</param>
    /// <param name="rpm">Speed; NaN where it is not known.</param>
    /// <returns>True where the points before were thinned to make room.</returns>
    public bool Add(double timeS, double rpm)
    {
        bool thinned = false;
        while (timeS >= (Count + 1) * StepS)
        {
            Close();
            thinned |= Thin();
        }

        if (double.IsFinite(rpm)) (_sum, _count) = (_sum + rpm, _count + 1);
        _any = true;
        return thinned;
    }

    // A step in which nobody looked is one of which nothing is known.
    private void Close()
    {
        _rpm.Add(_any && _count > 0 ? _sum / _count : double.NaN);
        (_sum, _count, _any) = (0, 0, false);
    }

    private bool Thin()
    {
        if (Count < Most) return false;
        for (int i = 0; i < Most / 2; i++)
        {
            (double a, double b) = (_rpm[2 * i], _rpm[(2 * i) + 1]);
            _rpm[i] = double.IsNaN(a) ? b : double.IsNaN(b) ? a : (a + b) / 2;
        }

        _rpm.RemoveRange(Most / 2, Most / 2);
        StepS *= 2;
        return true;
    }
}
