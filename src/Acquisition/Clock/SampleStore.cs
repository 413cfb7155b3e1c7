namespace Acquire.Acquisition.Clock;

/// <summary>Keeps the best sample of each bucket of so many in a row: the earliest, or the one with the least delay. When full it joins
/// buckets in pairs, so that memory is bounded while every sample has had its chance.</summary>
internal sealed class SampleStore(int capacity, bool byDelay)
{
    private readonly List<ClockSample> _kept = [];
    private int _bucketSize = 1;
    private int _inBucket;
    private ClockSample _best;

    /// <summary>Samples that were added.</summary>
    internal long Added { get; private set; }

    internal IReadOnlyList<ClockSample> Kept => _kept;

    internal bool IsFull => _kept.Count >= capacity;

    /// <summary>Adds a sample.</summary>
    /// <param name="sample">The sample.</param>
    /// <param name="hostPerBoard">The best knowledge of host seconds in a nominal second of the board, to tell which of two is earlier.</param>
    internal void Add(in ClockSample sample, double hostPerBoard)
    {
        Added++;
        if (_inBucket > 0 && sample.Segment != _best.Segment)
            Close();
        if (_inBucket == 0 || IsBetter(sample, _best, hostPerBoard))
            _best = sample;
        if (++_inBucket >= _bucketSize)
            Close();
    }

    /// <summary>Joins buckets in pairs.</summary>
    internal void Halve(double hostPerBoard)
    {
        int kept = 0;
        for (int i = 0; i < _kept.Count; i++)
        {
            ClockSample sample = _kept[i];
            if (i + 1 < _kept.Count && _kept[i + 1].Segment == sample.Segment)
            {
                ClockSample next = _kept[++i];
                sample = IsBetter(next, sample, hostPerBoard) ? next : sample;
            }

            _kept[kept++] = sample;
        }

        _kept.RemoveRange(kept, _kept.Count - kept);
        if (_kept.Count > capacity * 3 / 4)
            _kept.RemoveRange(0, _kept.Count - (capacity / 2)); // a board that starts anew all the time: the oldest go
        _bucketSize *= 2;
    }

    private void Close()
    {
        _kept.Add(_best);
        _inBucket = 0;
    }

    private bool IsBetter(in ClockSample a, in ClockSample b, double hostPerBoard) =>
        byDelay ? a.DelayS < b.DelayS : a.HostS - (hostPerBoard * a.BoardS) < b.HostS - (hostPerBoard * b.BoardS);
}
