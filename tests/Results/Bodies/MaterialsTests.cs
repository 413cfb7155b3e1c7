using Acquire.Results.Bodies;
using Xunit;

namespace Acquire.Results.Tests.Bodies;

public sealed class MaterialsTests
{
    // Common practice, no source: a 95/5 tungsten-nickel alloy is about 18 g/cm³ by the rule of mixtures.
    [Fact]
    public void Tungsten_with_5_percent_nickel_is_about_18_grams_a_cubic_centimetre()
    {
        PartStuff alloy = Materials.Mix([(Materials.Named("tungsten")!, 0.95), (Materials.Named("nickel")!, 0.05)]);
        Assert.InRange(alloy.DensityKgM3, 17_800, 18_400);
        Assert.Equal(1 / ((0.95 / 19300) + (0.05 / 8895)), alloy.DensityKgM3, 1e-6);
        Assert.InRange(alloy.UDensityKgM3, 1, 60);
    }

    // Common practice, no source.
    [Fact]
    public void A_printed_PLA_part_is_less_than_half_as_dense_as_aluminium() =>
        Assert.True(Materials.Named("printed-pla")!.DensityKgM3 < 0.5 * Materials.Named("aluminium")!.DensityKgM3);

    [Fact]
    public void A_mixture_of_one_is_that_one() =>
        Assert.Equal(Materials.Named("steel")!.DensityKgM3, Materials.Mix([(Materials.Named("Steel")!, 1)]).DensityKgM3, 1e-9);

    [Fact]
    public void Every_material_tells_ranges_in_order_and_where_they_are_from()
    {
        Assert.Equal(Materials.All.Count, Materials.All.Select(m => m.Name).Distinct().Count());
        Assert.All(Materials.All, m =>
        {
            Assert.InRange(m.LowKgM3, 100, m.HighKgM3);
            Assert.InRange(m.HighKgM3, m.LowKgM3, 1.16 * m.LowKgM3 + 120);
            Assert.InRange(m.LowMPa, 1, m.HighMPa);
            Assert.InRange(m.Poisson, 0.1, 0.5);
            Assert.EndsWith("from memory", m.Source, StringComparison.Ordinal);
        });
    }
}
