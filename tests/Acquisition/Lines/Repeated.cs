using CsCheck;
using Xunit;

namespace Acquire.Acquisition.Tests.Lines;

/// <summary>Tries a property on values drawn from a fixed seed, so that every run tries the same ones.</summary>
internal static class Repeated
{
    internal static void Try<T>(Gen<T> values, ulong seed, int times, Func<T, bool> holds)
    {
        var random = new PCG(1, seed);
        for (int time = 0; time < times; time++)
        {
            T value = values.Generate(random, null, out _);
            Assert.True(holds(value), $"Does not hold for value {time} of seed {seed}: {Check.Print(value)}");
        }
    }
}
