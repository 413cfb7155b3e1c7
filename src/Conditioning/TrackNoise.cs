namespace Acquire.Conditioning;

/// <summary>How much marks scatter about the track and how fast the track itself may bend, learnt from the residuals.</summary>
internal struct TrackNoise
{
    private const double LaunchJerk = 2e4;  // turns²/s⁵: a hand brings 80 turns/s² in a tenth of a second
    private const double SettleTurns = 6;   // turns over which a track that proves smooth is taken for smoother
    private const double HandRate = 10;     // 1/s: so fast a hand takes its push back
    private const int LearntBefore = 30;    // marks: so soon it learns anew after a gap
    private double _jitterVariance;         // s²
    private double _jerkDensity;
    private int _learnt;

    /// <summary>What is taken for granted at first.</summary>
    /// <param name="jitterS">Standard deviation of a mark's moment, seconds: rather too much than too little.</param>
    /// <param name="spacingTurns">Turns from mark to mark.</param>
    public static TrackNoise Fresh(double jitterS, double spacingTurns) => new()
    {
        _jitterVariance = jitterS * jitterS,
        _jerkDensity = LaunchJerk,
        Spacing = spacingTurns,
        ScatterVariance = 0.09 * 0.09, // steadiness is to be shown, not taken for granted
    };

    /// <summary>Turns from mark to mark.</summary>
    public double Spacing { get; private init; }

    /// <summary>Mean square of the residuals of late, in spacings of marks: 0.04 for pulses at random, far less for marks.</summary>
    public double ScatterVariance { get; private set; }

    /// <summary>Spectral density of the jerk, turns²/s⁵.</summary>
    public readonly double JerkDensity => _jerkDensity;

    /// <summary>Variance of a mark's angle, turns².</summary>
    public readonly double Variance(double speed, double uPlace) => (speed * speed * _jitterVariance) + (uPlace * uPlace);

    /// <summary>The same where marks come again after a gap: a body wobbles the more the slower it is, so that they may scatter by more than before.</summary>
    /// <param name="jitterS">Standard deviation of a mark's moment, seconds, that it is taken for at least.</param>
    public readonly TrackNoise AfterGap(double jitterS) =>
        this with { _jitterVariance = Math.Max(_jitterVariance, jitterS * jitterS), _learnt = Math.Min(_learnt, LearntBefore) };

    /// <summary>Learns from a residual that was accepted.</summary>
    /// <param name="residual">Turns.</param>
    /// <param name="share">Its square over the variance that was foretold.</param>
    /// <param name="speed">Turns a second.</param>
    /// <param name="acceleration">Turns a second squared.</param>
    /// <param name="push">By how much that is surely positive, turns a second squared.</param>
    /// <param name="angleVariance">Variance of the foretold angle, turns².</param>
    /// <param name="dt">Seconds since the last mark.</param>
    public void Learn(double residual, double share, double speed, double acceleration, double push, double angleVariance, double dt)
    {
        double off = residual / Spacing;
        ScatterVariance += ((off * off) - ScatterVariance) / 12;
        double least = (4e-4 * acceleration * acceleration) + (HandRate * HandRate * push * push * dt) + 1e-9;
        if (share > 12)
            _jerkDensity = Math.Min(LaunchJerk, _jerkDensity * 30);
        else
            _jerkDensity = Math.Max(Math.Min(least, LaunchJerk), _jerkDensity * Math.Exp(-3 * Math.Abs(speed) * dt / SettleTurns));

        // Once the prediction is the sharper of the two, the residual tells the jitter; huge ones are cut so that one touch
        // does not open the gate for the next hundred marks.
        if (speed > 0 && angleVariance < 4 * speed * speed * _jitterVariance)
        {
            double seen = Math.Min(Math.Max(0, (residual * residual) - angleVariance) / (speed * speed), 25 * _jitterVariance);
            _jitterVariance += (seen - _jitterVariance) / Math.Min(++_learnt + 3, 100);
            _jitterVariance = Math.Max(_jitterVariance, 1e-14);
        }
    }
}
