namespace Acquire.Conditioning;

/// <summary>Follows the marks from a stretch where they are sure outwards: back in time through a launch, on into a fall, into a gap from
/// either side. Several readings are kept side by side, and the one that explains all pulses best is taken.</summary>
/// <remarks>A beam search over the logarithm of each interval against what the last marks foretell; costs are negative logarithms
/// of probabilities. The body is taken to slow outwards in proportion to its speed, as a launch seen backwards nearly does.</remarks>
internal sealed class EdgeSearch
{
    private const int Beam = 24;
    private const int Points = 6;
    private const double ExtraBefore = 4.5; // −ln of the share of pulses that are extras: fewer than 3 % before a launch
    private const double ExtraAfter = 3.5;  // and 3 % in a spin
    private const double Follower = 0.7;    // a bounce is no surprise
    private const double Steady = 0.005;    // of an interval: how well it is foretold where the speed is steady
    private const double Loose = 0.05;      // and where a hand or a fall sets in
    private const double MostFall = 0.6;    // a body that has fallen gives flashes, no marks
    private const double MostSlower = 2;
    private const double MostSlowerAtOnce = 4.5; // from one interval to the next, even where a launch begins
    private readonly MarkTable _table;
    private readonly double _jitterS;
    private readonly double _missed;
    private readonly int _direction;
    private readonly double _extra;
    private readonly List<Reading> _readings = [];
    private readonly List<Reading> _next = [];

    private EdgeSearch(MarkTable table, double jitterS, int direction, double missed)
    {
        _table = table;
        _jitterS = jitterS;
        _direction = direction;
        _missed = missed;
        _extra = direction < 0 ? ExtraBefore : ExtraAfter;
    }

    /// <summary>Finds the marks beyond one that is sure.</summary>
    /// <param name="table">The run; at least four marks on the inner side of <paramref name="anchor"/>.</param>
    /// <param name="anchor">Index of the sure mark.</param>
    /// <param name="direction">−1 to go back in time, 1 to go on.</param>
    /// <param name="lastPulse">The outermost pulse that is looked at.</param>
    /// <param name="jitterS">Jitter of a mark's moment, s.</param>
    /// <param name="missed">Cost of a missed mark: −ln of its probability.</param>
    /// <returns>The marks found, in the order of time.</returns>
    public static List<MarkAt> Beyond(MarkTable table, int anchor, int direction, int lastPulse, double jitterS, double missed)
    {
        var search = new EdgeSearch(table, jitterS, direction, missed);
        var found = new List<MarkAt>();
        if (!search.Begin(anchor))
            return found;
        for (int i = table.Marks[anchor].Pulse + direction; i != lastPulse + direction; i += direction)
            search.Take(i);
        Reading best = search._readings.MinBy(r => r.Cost)!;
        for (Reading? r = best; r?.Before != null; r = r.Before)
            found.Add(r.Mark);
        if (direction > 0)
            found.Reverse();
        return found;
    }

    private bool Begin(int anchor)
    {
        var reading = new Reading { Mark = _table.Marks[anchor] };
        for (int k = Points - 1; k >= 0; k--)
        {
            int index = anchor - (_direction * k);
            if (index >= 0 && index < _table.Marks.Count)
                reading.Push(_direction * _table.At(index), _direction * _table.Position(_table.Marks[index].Number));
        }

        if (reading.Count < 4)
            return false;
        reading.Fit(_table.MarksPerTurn);
        _readings.Add(reading);
        return true;
    }

    private void Take(int pulse)
    {
        bool follows = _table.Follows(pulse);
        double skip = follows ? Follower : _extra;
        _next.Clear();
        foreach (Reading reading in _readings)
        {
            for (int step = 1; step <= 3; step++)
            {
                long number = reading.Mark.Number + (_direction * step);
                double cost = Cost(reading, pulse, number) + ((step - 1) * _missed) + (follows ? _extra - Follower : 0);
                if (cost < 3 * _extra)
                    _next.Add(Extended(reading, pulse, number, cost));
            }

            reading.Cost += skip;
        }

        _readings.AddRange(_next);
        if (_readings.Count <= Beam)
            return;
        _readings.Sort(static (a, b) => a.Cost.CompareTo(b.Cost));
        _readings.RemoveRange(Beam, _readings.Count - Beam);
    }

    private Reading Extended(Reading reading, int pulse, long number, double cost)
    {
        Reading longer = reading.Copy();
        longer.Before = reading;
        longer.Mark = new MarkAt(pulse, number);
        longer.Cost = reading.Cost + cost;
        longer.Push(_direction * _table.TimeS[pulse], _direction * _table.Position(number));
        longer.Fit(_table.MarksPerTurn);
        return longer;
    }

    private double Cost(Reading reading, int pulse, long number)
    {
        double away = (_direction * _table.Position(number)) - reading.LastAngle;
        double interval = (_direction * _table.TimeS[pulse]) - reading.LastTime;
        double rate = reading.Slowing;
        double reach = rate * away / reading.Speed;
        double foretold = Math.Abs(reach) < 1e-6 ? away / reading.Speed
            : reach < 0.95 ? -double.LogP1(-reach) / rate
            : 3 / rate;
        if (away / interval < reading.LastMean / MostSlowerAtOnce || (_direction > 0 && (reach > MostFall || interval * reading.Speed > MostSlower * away)))
            return double.PositiveInfinity;
        double steady = Steady + (3 * _jitterS / Math.Max(interval, 1e-6)) + ((_direction > 0 ? 0.1 : 0.35) * Math.Clamp(Math.Abs(reach), 0, 1));
        double off = Math.Log(Math.Max(interval, 1e-7) / foretold);
        double cost = -Math.Log((0.9 * Normal(off, steady)) + (0.1 * Normal(off, steady + Loose)) + 1e-9);
        double slowed = Math.Clamp(rate * interval, -1, 1.5);
        double byWidth = _table.WidthOff(pulse, Math.Max(0.05 * reading.Speed, reading.Speed * Math.Exp(-slowed)));
        if (!double.IsNaN(_table.WidthTurns))
            cost += Math.Min(8, 0.5 * byWidth * byWidth / Square(0.15 + (0.3 * Math.Abs(slowed)))) - 1.5;
        return cost;
    }

    private static double Normal(double x, double sigma) => Math.Exp(-0.5 * x * x / (sigma * sigma)) / (2.5 * sigma);

    private static double Square(double x) => x * x;

    /// <summary>One reading of the pulses so far. Times and angles are counted outwards.</summary>
    private sealed class Reading
    {
        private readonly double[] _times = new double[Points];
        private readonly double[] _angles = new double[Points];

        public Reading? Before { get; set; }

        public MarkAt Mark { get; set; }

        public double Cost { get; set; }

        public int Count { get; private set; }

        public double Speed { get; private set; }

        /// <summary>By how much of itself the speed falls a second.</summary>
        public double Slowing { get; private set; }

        public double LastTime => _times[Count - 1];

        /// <summary>Speed between the last two marks.</summary>
        public double LastMean => (_angles[Count - 1] - _angles[Count - 2]) / (_times[Count - 1] - _times[Count - 2]);

        public double LastAngle => _angles[Count - 1];

        public Reading Copy()
        {
            var copy = new Reading { Cost = Cost, Mark = Mark, Count = Count };
            _times.CopyTo(copy._times, 0);
            _angles.CopyTo(copy._angles, 0);
            return copy;
        }

        public void Push(double time, double angle)
        {
            if (Count == Points)
            {
                Array.Copy(_times, 1, _times, 0, Points - 1);
                Array.Copy(_angles, 1, _angles, 0, Points - 1);
                Count--;
            }

            _times[Count] = time;
            _angles[Count++] = angle;
        }

        // A parabola of angle over time through the points of the last turn or so, at least three.
        public void Fit(int marksPerTurn)
        {
            int use = Math.Clamp(marksPerTurn + 1, 3, Count);
            (double s2, double s3, double s4, double y1, double y2) = (0, 0, 0, 0, 0);
            double span = LastTime - _times[Count - use];
            for (int i = Count - use; i < Count - 1; i++)
            {
                double t = (_times[i] - LastTime) / span;
                double y = _angles[i] - LastAngle;
                double tt = t * t;
                s2 += tt;
                s3 += tt * t;
                s4 += tt * tt;
                y1 += t * y;
                y2 += tt * y;
            }

            double det = (s2 * s4) - (s3 * s3);
            double b = ((s4 * y1) - (s3 * y2)) / det;
            double c = ((s2 * y2) - (s3 * y1)) / det;
            double mean = (LastAngle - _angles[Count - use]) / span;
            Speed = Math.Clamp(b / span, 0.2 * mean, 3 * mean);
            Slowing = Math.Clamp(-2 * c / (span * span) / Speed, -3 / span, 3 / span);
        }
    }
}
