using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearRegression;
using Xunit;

namespace Acquire.Results.Tests;

/// <summary>The multiple regression that results are built on, against NIST StRD Longley (public domain): a set so nearly collinear that
/// normal equations lose most digits.</summary>
public sealed class LongleyTests
{
    private static readonly double[] Y =
    [
        60323, 61122, 60171, 61187, 63221, 63639, 64989, 63761, 66019, 67857, 68169, 66513, 68655, 69564, 69331, 70551,
    ];

    private static readonly double[][] X =
    [
        [83.0, 88.5, 88.2, 89.5, 96.2, 98.1, 99.0, 100.0, 101.2, 104.6, 108.4, 110.8, 112.6, 114.2, 115.7, 116.9],
        [234289, 259426, 258054, 284599, 328975, 346999, 365385, 363112, 397469, 419180, 442769, 444546, 482704, 502601, 518173, 554894],
        [2356, 2325, 3682, 3351, 2099, 1932, 1870, 3578, 2904, 2822, 2936, 4681, 3813, 3931, 4806, 4007],
        [1590, 1456, 1616, 1650, 3099, 3594, 3547, 3350, 3048, 2857, 2798, 2637, 2552, 2514, 2572, 2827],
        [107608, 108632, 109773, 110929, 112075, 113270, 115094, 116219, 117388, 118734, 120445, 121950, 123366, 125368, 127852, 130081],
        [1947, 1948, 1949, 1950, 1951, 1952, 1953, 1954, 1955, 1956, 1957, 1958, 1959, 1960, 1961, 1962],
    ];

    private static readonly double[] Certified =
    [
        -3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359, -0.0511041056535807,
        1829.15146461355,
    ];

    [Fact]
    public void Least_squares_by_QR_keeps_seven_digits_on_Longley()
    {
        var design = Matrix<double>.Build.Dense(Y.Length, 7, (row, column) => column == 0 ? 1 : X[column - 1][row]);
        Vector<double> response = Vector<double>.Build.Dense(Y);
        Vector<double> found = MultipleRegression.QR(design, response);
        for (int i = 0; i < Certified.Length; i++)
            Assert.Equal(1, found[i] / Certified[i], 1e-7);
        double residual = Math.Sqrt((design * found - response).PointwisePower(2).Sum() / (Y.Length - 7));
        Assert.Equal(1, residual / 304.854073561965, 1e-7);
    }
}
