using CsCheck;

namespace Acquire.Recording.Tests;

internal static class Sampling
{
    /// <summary>Runs the assertion on generated values, the same ones in every run.</summary>
    public static void ForEach<T>(this Gen<T> gen, int count, ulong seed, Action<T> assertion)
    {
        var random = new PCG(1, seed);
        for (int i = 0; i < count; i++)
        {
            T value = gen.Generate(random, null, out _);
            try
            {
                assertion(value);
            }
            catch (Exception e)
            {
                Assert.Fail($"Value {i} of seed {seed}, {value}: {e}");
            }
        }
    }
}
