namespace Acquire.Acquisition.Simulation;

/// <summary>Lays out the motion of a scenario, segment by segment, with the truth of every spin.</summary>
internal sealed class MotionBuilder
{
    private const int PushSegments = 200;
    private readonly List<MotionSegment> _segments = [];
    private readonly List<SpinTruth> _spins = [];
    private double _timeS;
    private double _angleRad;
    private double _precession;
    private int _spin;

    internal static RotorMotion Build(SpinScenario scenario)
    {
        var builder = new MotionBuilder();
        foreach (SpinPlan plan in scenario.Spins)
        {
            plan.Check();
            builder.AddSpin(plan);
            builder._spin++;
        }

        builder.AddRest(scenario.RestAfterS);
        return new RotorMotion([.. builder._segments], [.. builder._spins]);
    }

    private void AddSpin(SpinPlan plan)
    {
        AddRest(plan.RestBeforeS);
        double launchS = _timeS;
        double launchRad = _angleRad;
        var law = new LossLaw(plan);
        double speed = 0;
        for (int i = 0; i < plan.Pushes.Count; i++)
        {
            Push push = plan.Pushes[i];
            double target = SpinUnits.RadPerS(push.ToRpm);
            AddSmooth(MotionKind.Push, speed, target, push.DurationS);
            speed = target;
            if (i < plan.Pushes.Count - 1)
                speed = AddFree(law, speed, 0, push.PauseAfterS);
        }

        double releaseS = _timeS;
        double releaseRad = _angleRad;
        double topple = SpinUnits.RadPerS(plan.ToppleRpm);
        AddFree(law, speed, topple, double.PositiveInfinity);
        double toppleS = _timeS;
        double toppleRad = _angleRad;
        if (plan.FallS > 0 && topple > 0)
            AddSmooth(MotionKind.Fall, topple, 0, plan.FallS);
        double stopS = _timeS;
        double stopRad = _angleRad;
        AddRest(plan.RollingS);
        _spins.Add(new SpinTruth(
            plan, law, launchS, releaseS, toppleS, stopS, plan.Pushes[^1].ToRpm,
            (releaseRad - launchRad) / SpinUnits.Turn, (toppleRad - releaseRad) / SpinUnits.Turn, (stopRad - launchRad) / SpinUnits.Turn));
    }

    private void AddRest(double durationS)
    {
        if (durationS > 0)
            Add(MotionKind.Rest, durationS, 0, (0, 0), (0, 0), 0);
    }

    /// <summary>A change of speed whose acceleration is a raised cosine; known in closed form.</summary>
    private void AddSmooth(MotionKind kind, double fromSpeed, double toSpeed, double durationS)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(durationS);
        double change = toSpeed - fromSpeed;
        double step = durationS / PushSegments;
        for (int i = 0; i < PushSegments; i++)
        {
            double a = (double)i / PushSegments;
            double b = (double)(i + 1) / PushSegments;
            double turned = durationS * ((fromSpeed * (b - a)) + (change * (Area(b) - Area(a))));
            Add(
                kind, step, turned,
                (fromSpeed + (change * Rise(a)), fromSpeed + (change * Rise(b))),
                (change / durationS * Slope(a), change / durationS * Slope(b)), 0);
        }

        static double Slope(double u) => 1 - Math.Cos(2 * Math.PI * u);
        static double Rise(double u) => u - (Math.Sin(2 * Math.PI * u) / (2 * Math.PI));
        static double Area(double u) => (u * u / 2) + ((Math.Cos(2 * Math.PI * u) - 1) / (4 * Math.PI * Math.PI));
    }

    /// <summary>Free decay down to a speed or for a time, whichever comes first.</summary>
    /// <returns>The speed at its end, rad/s.</returns>
    private double AddFree(LossLaw law, double fromSpeed, double toSpeed, double forS)
    {
        double speed = fromSpeed;
        double leftS = forS;
        while (speed > toSpeed && leftS > 0)
        {
            double next = LossLaw.NextSpeed(speed, fromSpeed, toSpeed);
            var panel = law.Panel(speed, next);
            if (panel.TimeS > leftS)
            {
                next = SpeedAfter(law, speed, leftS);
                panel = law.Panel(speed, next);
                leftS = 0;
            }

            Add(MotionKind.Free, panel.TimeS, panel.AngleRad, (speed, next), (-law.Deceleration(speed), -law.Deceleration(next)), panel.InverseSpeed);
            leftS -= panel.TimeS;
            speed = next;
        }

        return speed;
    }

    private static double SpeedAfter(LossLaw law, double speed, double timeS)
    {
        double next = speed;
        for (int i = 0; i < 50; i++)
        {
            double error = law.Panel(speed, next).TimeS - timeS;
            next += error * law.Deceleration(next);
            if (Math.Abs(error) < 1e-15)
                break;
        }

        return next;
    }

    private void Add(
        MotionKind kind, double durationS, double turnedRad, (double Start, double End) speed, (double Start, double End) acceleration, double inverse)
    {
        _segments.Add(new MotionSegment(kind, _spin, _timeS, durationS, _angleRad, turnedRad, speed, acceleration, (_precession, inverse)));
        _timeS += durationS;
        _angleRad += turnedRad;
        _precession += inverse;
    }
}
