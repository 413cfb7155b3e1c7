using Xunit;

namespace Acquire.Acquisition.Tests.Serial;

/// <summary>Work on a thread of its own that a test waits for with a limit, so that a call that hangs fails its test instead of hanging it.</summary>
internal sealed class Beside<T>
{
    private readonly Thread _thread;
    private T? _result;
    private Exception? _failure;

    internal Beside(Func<T> work)
    {
        _thread = new Thread(() =>
        {
            try
            {
                _result = work();
            }
            catch (Exception failure)
            {
                _failure = failure;
            }
        })
        { IsBackground = true };
        _thread.Start();
    }

    internal T Within(int milliseconds)
    {
        Assert.True(_thread.Join(milliseconds), $"Not done within {milliseconds} ms.");
        Assert.Null(_failure);
        return _result!;
    }
}

internal static class Beside
{
    internal static Beside<T> Run<T>(Func<T> work) => new(work);

    internal static void Within(int milliseconds, Action work) => new Beside<bool>(() =>
    {
        work();
        return true;
    }).Within(milliseconds);
}
