using System.Text;
using Acquire.Results.Bodies;
using Acquire.Service.Bodies;
using CsCheck;

namespace Acquire.Service.Tests.Bodies;

public sealed class RotorFileTests
{
    private const string Good = """
        {
          "name": "disc",
          "runUpRpm": 2500,
          "parts": [
            { "name": "stem", "shape": "cylinder", "radiusMm": 3, "heightMm": 40, "bottomMm": 0, "material": "steel" },
            { "name": "rim", "shape": "ring", "innerRadiusMm": 3, "outerRadiusMm": 40, "heightMm": 10, "bottomMm": 15, "densityKgM3": 8000 }
          ]
        }
        """;

    private static RotorReading Read(string text, params string[] changes) => RotorFile.Read("body.json", Encoding.UTF8.GetBytes(text), changes);

    private static RotorReading Part(string members) => Read("{ \"parts\": [\n{ " + members + " }\n] }");

    [Fact]
    public void A_file_is_the_stack_it_tells()
    {
        RotorReading reading = Read(Good);
        Assert.Empty(reading.Problems);
        Assert.Empty(reading.Warnings);
        Rotor rotor = reading.Rotor!;
        Assert.Equal(("disc", 2500.0, 0.04), (rotor.Name, rotor.RunUpRpm, rotor.OuterRadiusM));
        double stem = Materials.Named("steel")!.DensityKgM3 * Math.PI * 9e-6 * 0.04;
        double rim = 8000 * Math.PI * (1600e-6 - 9e-6) * 0.01;
        Assert.Equal(stem + rim, rotor.MassKg, 1e-9);
    }

    [Fact]
    public void Lengths_in_metres_are_the_same_body() =>
        Assert.Equal(Read(Good).Rotor!.InertiaAxisKgM2, Read(Good.Replace("\"radiusMm\": 3", "\"radiusM\": 0.003", StringComparison.Ordinal)).Rotor!.InertiaAxisKgM2, 1e-18);

    [Theory]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 20", 4.0 / 3 * Math.PI * 8)]
    [InlineData("\"shape\": \"torus\", \"ringRadiusMm\": 30, \"tubeRadiusMm\": 5", 2 * Math.PI * Math.PI * 3 * 0.25)]
    [InlineData("\"shape\": \"frustum\", \"bottomRadiusMm\": 0, \"topRadiusMm\": 30, \"heightMm\": 50", Math.PI * 9 * 5 / 3)]
    [InlineData("\"shape\": \"profile\", \"pointsMm\": [[0, 0], [30, 50]]", Math.PI * 9 * 5 / 3)]
    [InlineData("\"shape\": \"cylinder\", \"radiusM\": 0.01, \"heightM\": 0.05, \"remove\": [{ \"shape\": \"cylinder\", \"radiusMm\": 5, \"heightMm\": 50, \"bottomMm\": 0 }]", Math.PI * 0.75 * 5)]
    public void Each_shape_has_its_volume(string shape, double volumeCm3) =>
        Assert.Equal(volumeCm3 * 1e-3, Part(shape + ", \"bottomMm\": 0, \"densityGCm3\": 1").Rotor!.MassKg, 1e-9);

    [Theory]
    [InlineData("\"massG\": 50", 0.05)]
    [InlineData("\"massKg\": 0.05, \"material\": \"brass\"", 0.05)]
    [InlineData("\"densityGCm3\": 2, \"fillShare\": 0.5", Math.PI * 0.001)]
    [InlineData("\"mix\": { \"tungsten\": 0.95, \"nickel\": 0.05 }", Math.PI * 0.001 / ((0.95 / 19.3) + (0.05 / 8.895)))]
    public void What_it_is_made_of_can_be_told_in_several_ways(string stuff, double massKg) =>
        Assert.Equal(massKg, Part("\"shape\": \"cylinder\", \"radiusMm\": 10, \"heightMm\": 10, \"bottomMm\": 0, " + stuff).Rotor!.MassKg, 1e-9);

    [Theory]
    [InlineData("\"shape\": \"sphare\"", "body.json, line 2, parts[0].shape: found the shape 'sphare', expected 'sphere'? There are cylinder, ring, frustum, sphere, torus, profile")]
    [InlineData("\"shape\": \"sphere\", \"radius\": 3", "body.json, line 2, parts[0].radius: found a member 'radius', expected 'radiusMm'?")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": -3, \"bottomMm\": 0, \"massG\": 1", "body.json, line 2, parts[0].radiusMm: found -3, expected a number from 0.001 to 10000 mm")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": \"3\", \"bottomMm\": 0, \"massG\": 1", "body.json, line 2, parts[0].radiusMm: found '3', expected a number")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"massG\": 1", "body.json, line 2, parts[0]: found no bottomMm, expected bottomMm or bottomM, the height of the lowest point above the tip")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0, \"material\": \"bras\"", "body.json, line 2, parts[0].material: found the material 'bras', expected 'brass'?")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0", "body.json, line 2, parts[0]: found no material and no density, expected material, or one of")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0, \"massG\": 1, \"massKg\": 1", "body.json, line 2, parts[0]: found massG and massKg, expected one of them")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0, \"massG\": 1, \"fillShare\": 0.2", "body.json, line 2, parts[0].fillShare: found fillShare beside massG")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0, \"massG\": 100", "body.json, line 2, parts[0].massG: found 100 in 0.1131 cm³, 884.2 g/cm³, expected no more than 25 g/cm³")]
    [InlineData("\"shape\": \"sphere\", \"radiusMm\": 3, \"bottomMm\": 0, \"mix\": { \"tungsten\": 0.5 }", "body.json, line 2, parts[0].mix: found shares that sum to 0.5, expected shares by mass that sum to 1")]
    [InlineData("\"shape\": \"ring\", \"innerRadiusMm\": 3, \"outerRadiusMm\": 3, \"heightMm\": 1, \"bottomMm\": 0, \"massG\": 1", "body.json, line 2, parts[0]: found innerRadius 3 mm, outerRadius 3 mm, height 1 mm, expected innerRadius less than outerRadius")]
    [InlineData("\"shape\": \"profile\", \"pointsMm\": [[3, 0], [3, -1]], \"bottomMm\": 0, \"massG\": 1", "body.json, line 2, parts[0].pointsMm[1][1]: found -1, expected a height no less than that before, 0")]
    [InlineData("\"shape\": \"cylinder\", \"radiusMm\": 3, \"heightMm\": 2, \"bottomMm\": 0, \"massG\": 1, \"remove\": [{ \"shape\": \"cylinder\", \"radiusMm\": 1, \"heightMm\": 4, \"bottomMm\": 0 }]", "body.json, line 2, parts[0].remove[0]: found 50 % of it outside of 'part1' or in another bore, expected a bore that takes away only what is there")]
    public void What_is_wrong_is_told_with_its_place_and_what_is_expected(string members, string message)
    {
        RotorReading reading = Part(members);
        Assert.Null(reading.Rotor);
        Assert.StartsWith(message, reading.Problems[0], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("", "body.json, line 1: found what is not JSON")]
    [InlineData("{\n\"parts\": [\n", "body.json, line 3: found what is not JSON")]
    [InlineData("[1]", "body.json, line 1: found a list, expected an object with parts")]
    [InlineData("{}", "body.json, line 1: found no parts, expected parts, a list of 1 to 200")]
    [InlineData("{\"name\": \"a\",\n\"name\": \"b\"}", "body.json, line 2: found what is not JSON ('name' a second time in one object)")]
    [InlineData("{\"parts\": [null]}", "body.json, line 1, parts[0]: found neither a number nor a text, expected an object with shape and sizes")]
    public void A_file_that_is_no_body_is_told_with_its_line(string text, string message) =>
        Assert.StartsWith(message, Read(text).Problems[0], StringComparison.Ordinal);

    [Fact]
    public void Parts_that_share_space_or_touch_nothing_are_warned_of()
    {
        RotorReading reading = Read("""
            { "parts": [
              { "name": "a", "shape": "cylinder", "radiusMm": 30, "heightMm": 10, "bottomMm": 5, "massG": 200 },
              { "name": "b", "shape": "cylinder", "radiusMm": 20, "heightMm": 10, "bottomMm": 10, "massG": 50 },
              { "name": "c", "shape": "torus", "ringRadiusMm": 60, "tubeRadiusMm": 5, "bottomMm": 10, "massG": 50 }
            ] }
            """);
        Assert.NotNull(reading.Rotor);
        Assert.Equal(
        [
            "body.json: 'a' and 'b' share 6.283 cm³, 50 % of 'b': it counts twice. Take it out of one with remove",
            "body.json: 'c' floats: from 10 to 20 mm above the tip, nothing joins it to 'a', the heaviest part",
            "body.json: nothing reaches down to the tip at height 0: the lowest part begins 5 mm above it",
        ], reading.Warnings);
    }

    [Fact]
    public void A_change_takes_the_place_of_what_told_it_before()
    {
        Rotor plain = Read(Good).Rotor!;
        Rotor heavier = Read(Good, "rim.material=brass", "stem.radiusM=0.003").Rotor!;
        Assert.True(heavier.InertiaAxisKgM2 > 1.06 * plain.InertiaAxisKgM2);
        Assert.Equal(plain.OuterRadiusM, heavier.OuterRadiusM);
    }

    [Theory]
    [InlineData("rim", "--what-if: 'rim' on the command line; allowed is PART.key=value")]
    [InlineData("rm.heightMm=3", "--what-if: 'rm.heightMm=3' on the command line: there is no part 'rm'; did you mean 'rim'?")]
    [InlineData("rim.heigthMm=3", "body.json with --what-if, parts[1].heigthMm: found a member 'heigthMm', expected 'heightMm'?")]
    [InlineData("rim.heightMm=-3", "body.json with --what-if, parts[1].heightMm: found -3, expected a number from")]
    public void A_change_that_cannot_be_made_is_told(string change, string message) =>
        Assert.StartsWith(message, Read(Good, change).Problems[0], StringComparison.Ordinal);

    [Fact]
    public void No_damage_to_a_file_is_more_than_a_problem_told() => Gen.Select(
        Gen.Int[0, Good.Length - 1], Gen.Int[0, 40], Gen.OneOf("", "}", "[", "\"", "null", "-1e308", "1e999", "\u0000", "é", "{\"a\":", ",,")).Sample((at, length, with) =>
    {
        string damaged = Good[..at] + with + Good[Math.Min(Good.Length, at + length)..];
        RotorReading reading = Read(damaged);
        Assert.True(reading.Rotor is null == reading.Problems.Count > 0);
        if (reading.Rotor is { } rotor)
            Assert.True(double.IsFinite(rotor.InertiaAxisKgM2) && rotor.MassKg > 0);
    }, iter: 3000);

    [Fact]
    public void No_bytes_are_more_than_a_problem_told() => Gen.Byte.Array[0, 200].Sample(bytes =>
        Assert.NotEmpty(RotorFile.Read("body.json", bytes).Problems));
}
