namespace Acquire.Service.Tests.Commands;

public sealed class VerifyCommandTests : IDisposable
{
    private readonly Bench _bench = new();
    private readonly string _run;

    public VerifyCommandTests()
    {
        _run = SampleRuns.Write(_bench.Library, SampleRuns.Make());
        SampleRuns.Write(_bench.Library, SampleRuns.Make(start: SampleRuns.Start.AddDays(1)));
    }

    public void Dispose() => _bench.Dispose();

    [Theory]
    [InlineData]
    [InlineData("runs")]
    [InlineData("20270314T092653Z-oak-rim")]
    [InlineData("runs/20270314T092653Z-oak-rim/")]
    public void Runs_as_written_are_all_right_by_whatever_name(params string[] target)
    {
        Assert.Equal(0, _bench.Run(["verify", "--json", .. target]));
        Assert.Equal("{\n  \"ok\": true,\n  \"problems\": []\n}\n", _bench.Out);
    }

    [Fact]
    public void A_changed_byte_is_found_and_the_answer_is_no()
    {
        string file = Path.Combine(_bench.Library, _run, "speed.csv");
        byte[] bytes = File.ReadAllBytes(file);
        bytes[^2] = bytes[^2] == (byte)'1' ? (byte)'2' : (byte)'1';
        File.WriteAllBytes(file, bytes);

        Assert.Equal(1, _bench.Run("verify", "--json"));
        Assert.StartsWith(
            $$"""
            {
              "ok": false,
              "problems": [
                {
                  "run": "{{_run}}",
                  "file": "speed.csv",
                  "what": "
            """.TrimEnd(),
            _bench.Out);

        using var text = new Bench();
        Assert.Equal(1, text.Run("verify", Path.Combine(_bench.Library, _run)));
        Assert.StartsWith(_run + "/speed.csv: ", text.Out);
    }

    [Fact]
    public void A_run_that_lost_its_descriptor_is_a_run_still()
    {
        File.Delete(Path.Combine(_bench.Library, _run, "datapackage.json"));
        Assert.Equal(1, _bench.Run("verify", _run));
        Assert.Contains(_run + "/datapackage.json: ", _bench.Out);
        Assert.Equal(1, _bench.Run("verify"));
    }

    [Fact]
    public void What_is_not_there_cannot_be_verified()
    {
        Assert.Equal(2, _bench.Run("verify", "nothing"));
        Assert.StartsWith("acquire verify: there is no folder 'nothing'", _bench.Error);
        Assert.Equal("", _bench.Out);
    }
}
