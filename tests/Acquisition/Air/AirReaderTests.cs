using Acquire.Acquisition.Air;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace Acquire.Acquisition.Tests.Air;

public sealed class AirReaderTests : IDisposable
{
    private static readonly AirSensorName Name = new(AirSensorKind.Bme280, 1, 0x76);
    private readonly FakeTimeProvider _time = new(DateTimeOffset.MinValue.AddDays(1));
    private readonly Sensor _sensor = new();
    private readonly AirReader _reader;
    private int _opened;

    public AirReaderTests() => _reader = new AirReader(
        Name,
        _ =>
        {
            _opened++;
            return _sensor.IsAway ? throw new AirSensorException("away") : _sensor;
        },
        _time);

    public void Dispose()
    {
        _sensor.Go.Set();
        _reader.Dispose();
    }

    private AirLook Next()
    {
        AirLook look = default;
        Assert.True(SpinWait.SpinUntil(() => _reader.TryTake(out look), 20_000), "no look came");
        return look;
    }

    private AirLook NextAfter10S()
    {
        _time.Advance(AirReader.Interval);
        return Next();
    }

    [Fact]
    public void A_sensor_is_looked_at_at_once_and_each_ten_seconds_and_each_look_has_its_moment()
    {
        _reader.Start();
        AirLook first = Next();
        AirLook second = NextAfter10S();
        Assert.Equal(_sensor.Reading, first.Reading);
        Assert.Equal(10_000_000_000, second.HostNs - first.HostNs);
        Assert.False(_reader.TryTake(out _));
        Assert.Equal((2L, 0L, null), (_reader.State.Readings, _reader.State.LeftOut, _reader.State.Problem));
        Assert.Equal(1, _opened);
    }

    [Fact]
    public void A_sensor_that_fails_is_told_left_out_and_read_again_once_it_is_back()
    {
        _reader.Start();
        Next();
        _sensor.Answer = () => throw new IOException("Error 121 performing I2C data transfer.");
        Assert.True(NextAfter10S().Reading.IsEmpty);
        Assert.Equal("nothing answers at address 0x76 of bus 1: check wires, supply and address", _reader.State.Problem);
        Assert.True(_reader.State.Last.IsEmpty);
        _sensor.IsAway = true;
        Assert.True(NextAfter10S().Reading.IsEmpty);
        _sensor.IsAway = false;
        _sensor.Answer = () => _sensor.Reading;
        Assert.Equal(_sensor.Reading, NextAfter10S().Reading);
        Assert.NotNull(_reader.State.Problem); // until it has answered well three times, so that a bad contact is not told again and again
        NextAfter10S();
        NextAfter10S();
        Assert.Null(_reader.State.Problem);
        Assert.Equal((4L, 2L), (_reader.State.Readings, _reader.State.LeftOut));
    }

    [Theory]
    [InlineData(double.NaN, 1000, 50, "it gave no temperature", "")]
    [InlineData(-41, 1000, 50, "it gave a temperature of -41 °C, which cannot be and is left out", "")]
    [InlineData(21, 1101, 50, "it gave a pressure of 1101 hPa, which cannot be and is left out", "21,,50")]
    [InlineData(21, 1000, 100, "it gave a humidity of 100 %, which cannot be and is left out", "21,1000,")]
    [InlineData(21, 0, 0, "it gave a pressure of 0 hPa, which cannot be and is left out; it gave a humidity of 0 %, which cannot be and is left out", "21,,")]
    public void What_cannot_be_is_left_out_and_told(double c, double hPa, double pct, string problem, string left)
    {
        _sensor.Reading = new AirReading(c, hPa, pct);
        _reader.Start();
        AirReading kept = Next().Reading;
        string[] parts = [.. new[] { kept.TemperatureC, kept.PressureHPa, kept.HumidityPct }.Select(v => double.IsNaN(v) ? "" : FormattableString.Invariant($"{v}"))];
        Assert.Equal(left, kept.IsEmpty ? "" : string.Join(',', parts));
        Assert.True(SpinWait.SpinUntil(() => _reader.State.Problem is not null, 20_000));
        Assert.Equal(problem, _reader.State.Problem);
    }

    [Fact]
    public void A_step_is_believed_only_where_the_next_look_shows_it_too()
    {
        _reader.Start();
        Next();
        var readings = new Queue<AirReading>([new(29, 1000, 50), new(21, 1000, 50)]);
        _sensor.Answer = readings.Dequeue;
        Assert.True(NextAfter10S().Reading.IsEmpty);
        Assert.Contains("do not agree", _reader.State.Problem, StringComparison.Ordinal);
        _sensor.Answer = () => new AirReading(21, 1000, 50);
        NextAfter10S();
        _sensor.Answer = () => new AirReading(29, 1000, 50);
        Assert.Equal(29, NextAfter10S().Reading.TemperatureC);
    }

    [Fact]
    public void The_same_bytes_for_five_minutes_are_a_fault_and_the_sensor_is_set_up_anew()
    {
        _sensor.Stuck = true;
        _reader.Start();
        for (int i = 0; i < 30; i++)
            Assert.False((i == 0 ? Next() : NextAfter10S()).Reading.IsEmpty);
        Assert.True(NextAfter10S().Reading.IsEmpty);
        Assert.Contains("same bytes for five minutes", _reader.State.Problem, StringComparison.Ordinal);
        _sensor.Stuck = false;
        Assert.False(NextAfter10S().Reading.IsEmpty);
        Assert.Equal(2, _opened);
    }

    [Fact]
    public void A_sensor_that_hangs_holds_up_nobody_and_is_told_while_it_does()
    {
        _reader.Start();
        Next();
        using var began = new ManualResetEventSlim();
        _sensor.Answer = () =>
        {
            began.Set();
            _sensor.Go.Wait();
            return _sensor.Reading;
        };
        _time.Advance(AirReader.Interval);
        Assert.True(began.Wait(20_000, TestContext.Current.CancellationToken));
        Assert.Null(_reader.State.Problem);
        _time.Advance(TimeSpan.FromSeconds(26));
        Assert.StartsWith("it hangs: no answer for 26 s", _reader.State.Problem, StringComparison.Ordinal);
        Assert.True(_reader.State.Last.IsEmpty);
        Assert.False(_reader.TryTake(out _));
        _sensor.Go.Set();
        Assert.Equal(_sensor.Reading, Next().Reading);
        Assert.True(SpinWait.SpinUntil(() => _reader.State.Problem is null, 20_000));
    }

    private sealed class Sensor : IAirSensor
    {
        private readonly byte[] _bytes = new byte[6];

        public Sensor() => Answer = () => Reading;

        public AirReading Reading { get; set; } = new(21, 1000, 50);

        public Func<AirReading> Answer { get; set; }

        public bool IsAway { get; set; }

        public bool Stuck { get; set; }

        public ManualResetEventSlim Go { get; } = new();

        public ReadOnlySpan<byte> LastBytes => _bytes;

        public AirReading Read()
        {
            if (!Stuck)
                _bytes[0] ^= 1;
            return Answer();
        }

        public void Dispose()
        {
        }
    }
}
