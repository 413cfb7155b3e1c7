using Acquire.Results.Fitting;
using Xunit;

namespace Acquire.Results.Tests.Losses;

/// <summary>The solver on data of the NIST Statistical Reference Datasets with certified results (public domain).</summary>
public sealed class GaussNewtonTests
{
    private static readonly (double Y, double X)[] Misra1a =
    [
        (10.07, 77.6), (14.73, 114.9), (17.94, 141.1), (23.93, 190.8), (29.61, 239.9), (35.18, 289.0), (40.02, 332.8), (44.82, 378.4),
        (50.76, 434.8), (55.05, 477.3), (61.01, 536.8), (66.40, 593.1), (75.47, 689.1), (81.78, 760.0),
    ];

    private static readonly (double Y, double X)[] Mgh09 =
    [
        (0.1957, 4), (0.1947, 2), (0.1735, 1), (0.1600, 0.5), (0.0844, 0.25), (0.0627, 0.167), (0.0456, 0.125), (0.0342, 0.1),
        (0.0323, 0.0833), (0.0235, 0.0714), (0.0246, 0.0625),
    ];

    private static readonly (double Y, double X)[] Thurber =
    [
        (80.574, -3.067), (84.248, -2.981), (87.264, -2.921), (87.195, -2.912), (89.076, -2.840), (89.608, -2.797), (89.868, -2.702),
        (90.101, -2.699), (92.405, -2.633), (95.854, -2.481), (100.696, -2.363), (101.060, -2.322), (401.672, -1.501), (390.724, -1.460),
        (567.534, -1.274), (635.316, -1.212), (733.054, -1.100), (759.087, -1.046), (894.206, -0.915), (990.785, -0.714), (1090.109, -0.566),
        (1080.914, -0.545), (1122.643, -0.400), (1178.351, -0.309), (1260.531, -0.109), (1273.514, -0.103), (1288.339, 0.010), (1327.543, 0.119),
        (1353.863, 0.377), (1414.509, 0.790), (1425.208, 0.963), (1421.384, 1.006), (1442.962, 1.115), (1464.350, 1.572), (1468.705, 1.841),
        (1447.894, 2.047), (1457.628, 2.200),
    ];

    [Theory]
    [InlineData(500, 1e-4)]
    [InlineData(250, 5e-4)]
    public void Misra1a_is_solved_to_its_certified_digits_with_its_uncertainties(double b1, double b2)
    {
        GaussNewton.Found found = Solve(Misra1a, [b1, b2], (b, x) => b[0] * (1 - Math.Exp(-b[1] * x)));
        Certified(found, 1e-6, 0.12455138894, 238.94212918, 5.5015643181e-4);
        double s2 = found.Squares / (Misra1a.Length - 2);
        Assert.Equal(2.7070075241, Math.Sqrt(s2 * found.InverseNormal[0, 0]), 1e-4);
        Assert.Equal(7.2668688436e-6, Math.Sqrt(s2 * found.InverseNormal[1, 1]), 1e-10);
    }

    [Fact]
    public void Thurber_is_solved_to_its_certified_digits()
    {
        GaussNewton.Found found = Solve(
            Thurber, [1300, 1500, 500, 75, 1, 0.4, 0.05],
            (b, x) => (b[0] + (x * (b[1] + (x * (b[2] + (x * b[3])))))) / (1 + (x * (b[4] + (x * (b[5] + (x * b[6])))))));
        Certified(found, 1e-6, 5642.7082397, 1288.13968, 1491.0792535, 583.23836877, 75.416644291, 0.96629502864, 0.39797285797, 0.049727297349);
    }

    [Fact]
    public void Mgh09_is_solved_to_its_certified_digits()
    {
        GaussNewton.Found found = Solve(
            Mgh09, [0.25, 0.39, 0.415, 0.39], (b, x) => b[0] * ((x * x) + (x * b[1])) / ((x * x) + (x * b[2]) + b[3]));
        Certified(found, 1e-5, 3.0750560385e-4, 0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068);
    }

    [Fact]
    public void Columns_that_are_the_same_have_no_solution() =>
        Assert.Null(Householder.Solve([[1, 2, 3], [1, 2, 3]], [1, 2, 3]));

    private static void Certified(GaussNewton.Found found, double share, double squares, params double[] parameters)
    {
        Assert.Equal(squares, found.Squares, share * squares);
        for (int k = 0; k < parameters.Length; k++)
            Assert.Equal(parameters[k], found.Parameters[k], share * Math.Abs(parameters[k]));
    }

    // The slopes by central differences, good to some ten digits.
    private static GaussNewton.Found Solve((double Y, double X)[] data, double[] start, Func<double[], double, double> model)
    {
        GaussNewton.Found? found = GaussNewton.Minimise(
            b => new GaussNewton.Place(
                [.. data.Select(d => d.Y - model(b, d.X))],
                [.. b.Select((_, k) => data.Select(d => Slope(model, b, k, d.X)).ToArray())]),
            start,
            1e-14);
        Assert.NotNull(found);
        return found;
    }

    private static double Slope(Func<double[], double, double> model, double[] b, int k, double x)
    {
        double step = 1e-6 * Math.Abs(b[k]);
        double At(double by) => model([.. b.Select((v, i) => i == k ? v + by : v)], x);
        return (At(step) - At(-step)) / (2 * step);
    }
}
