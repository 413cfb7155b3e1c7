using Acquire.Measure.Ensembles;

namespace Acquire.Measure;

/// <summary>All ensembles, in the order in which they are shown.</summary>
public static class AllEnsembles
{
    /// <summary>The list; each part of the project adds its own.</summary>
    public static readonly IReadOnlyList<Ensemble> List = [MarksEnsemble.Ensemble, CoverageEnsemble.Make(), LawEnsemble.Make(), SpeedEnsemble.Make(), StopEnsemble.Stop, LostEnsemble.Lost, LampEnsemble.Ensemble, LiveEnsemble.Ensemble, ClockRates.Ensemble, CompareEnsemble.Ensemble, SweepEnsemble.Ensemble, PlanEnsemble.Ensemble, BrakeEnsemble.Ensemble, ForecastEnsemble.Ensemble];
}
