namespace Acquire.Service.Tests;

[CollectionDefinition(Name, DisableParallelization = true)]
public static class CountedHandles
{
    public const string Name = "counted handles";
}

[Collection(CountedHandles.Name)]
public sealed class OwnProcessTests
{
    [Fact]
    public void A_process_that_has_answered_leaves_no_handle_open()
    {
        string[] words = ["--version"];
        OwnProcess.Run(words, null, 60_000, CancellationToken.None);
        int before = Pipes();
        for (int i = 0; i < 8; i++)
            Assert.NotEqual("", OwnProcess.Run(words, null, 60_000, CancellationToken.None));
        Assert.InRange(Pipes(), 0, before + 4);
    }

    private static int Pipes() =>
        Directory.GetFiles("/proc/self/fd").Count(f => File.ResolveLinkTarget(f, false)?.Name.StartsWith("pipe:", StringComparison.Ordinal) == true);
}
