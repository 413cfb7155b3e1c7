namespace Acquire.Results.Losses;

/// <summary>The flow about a disc that turns.</summary>
public enum DiscFlow
{
    /// <summary>Free air, laminar boundary layers.</summary>
    FreeLaminar,

    /// <summary>Free air, turbulent boundary layers.</summary>
    FreeTurbulent,

    /// <summary>Enclosed, laminar, the boundary layers of disc and wall merged (regime I).</summary>
    MergedLaminar,

    /// <summary>Enclosed, laminar, the layers apart (regime II).</summary>
    ApartLaminar,

    /// <summary>Enclosed, turbulent, merged (regime III).</summary>
    MergedTurbulent,

    /// <summary>Enclosed, turbulent, apart (regime IV).</summary>
    ApartTurbulent,
}

/// <summary>Drag of a plain, smooth, thin disc on both its sides, its rim not counted: a yardstick for a body of that radius.</summary>
/// <param name="Flow">The regime.</param>
/// <param name="Reynolds">Reynolds number ωR²/ν.</param>
/// <param name="MomentCoefficient">C_M: the torque over ½ρω²R⁵.</param>
/// <remarks>Free air: von Kármán 1921 with Cochran's (1934) exact laminar solution, C_M = 3.86995/√Re; turbulent C_M = 0.146 Re^−0.2 from about
/// Re = 300,000 on (Schlichting, Boundary-Layer Theory; from memory). Enclosed: Daily and Nece, "Chamber dimension effects on induced flow and
/// frictional resistance of enclosed rotating disks", Journal of Basic Engineering 82 (1960) 217: of four laws the largest holds.</remarks>
public readonly record struct DiscDrag(DiscFlow Flow, double Reynolds, double MomentCoefficient)
{
    /// <summary>About where the boundary layers in free air become turbulent.</summary>
    public const double TransitionReynolds = 3e5;

    /// <summary>2π·0.6159220144: the wall's slope of the similarity solution over both sides.</summary>
    public const double LaminarConstant = 3.869952;

    /// <summary>In free air.</summary>
    /// <param name="reynolds">ωR²/ν, above 0.</param>
    public static DiscDrag Free(double reynolds)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(reynolds);
        return reynolds < TransitionReynolds
            ? new DiscDrag(DiscFlow.FreeLaminar, reynolds, LaminarConstant / Math.Sqrt(reynolds))
            : new DiscDrag(DiscFlow.FreeTurbulent, reynolds, 0.146 * Math.Pow(reynolds, -0.2));
    }

    /// <summary>In a close-fitting enclosure.</summary>
    /// <param name="reynolds">ωR²/ν, above 0.</param>
    /// <param name="gap">Clearance on each side over the disc's radius, above 0.</param>
    public static DiscDrag Enclosed(double reynolds, double gap)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(reynolds);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(gap);
        DiscDrag[] laws =
        [
            new(DiscFlow.MergedLaminar, reynolds, 2 * Math.PI / (gap * reynolds)),
            new(DiscFlow.ApartLaminar, reynolds, 3.70 * Math.Pow(gap, 0.1) / Math.Sqrt(reynolds)),
            new(DiscFlow.MergedTurbulent, reynolds, 0.080 * Math.Pow(gap, -1.0 / 6) * Math.Pow(reynolds, -0.25)),
            new(DiscFlow.ApartTurbulent, reynolds, 0.102 * Math.Pow(gap, 0.1) * Math.Pow(reynolds, -0.2)),
        ];
        return laws.MaxBy(l => l.MomentCoefficient);
    }

    /// <summary>The torque, N m.</summary>
    /// <param name="radPerS">Speed, rad/s.</param>
    /// <param name="radiusM">The disc's radius, m.</param>
    /// <param name="densityKgM3">Density of the air, kg/m³.</param>
    public double TorqueNm(double radPerS, double radiusM, double densityKgM3) =>
        MomentCoefficient * 0.5 * densityKgM3 * radPerS * radPerS * Math.Pow(radiusM, 5);
}
