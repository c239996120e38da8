using CsCheck;
using Xunit;

namespace Throughline.Analysis.Tests.Compilation;

public sealed class LineTests
{
    [Fact]
    public void Inverse_OfForward_IsTheValueItself() =>
        Gen.Select(Gen.Double[-1e3, 1e3], Gen.Double[1e-3, 1e3].Array[2, 8], Gen.Double[1e-3, 1e3].Array[2, 8], Gen.Double[-2, 3], Gen.Bool)
            .Sample((start, runs, rises, where, falling) =>
            {
                List<(double, double)> points = [(start, 0)];
                for (int i = 0; i < Math.Min(runs.Length, rises.Length); i++)
                {
                    (double x, double y) = points[^1];
                    points.Add((x + runs[i], y + (falling ? -rises[i] : rises[i])));
                }

                Line line = Line.TryCreate(points)!;
                double value = line.FirstFrom + (where * (line.LastFrom - line.FirstFrom));
                // Slopes span six decades, so that a rounding in between grows by as much.
                Assert.Equal(value, line.Inverse(line.Forward(value)), 1e-6 * (Math.Abs(value) + (line.LastFrom - line.FirstFrom)));
            });

    [Theory]
    [InlineData(0, 1, 1, 1)]
    [InlineData(0, 1, 0, 2)]
    [InlineData(double.NaN, 1, 0, 2)]
    public void TryCreate_OfNoLine_IsNull(double x0, double y0, double x1, double y1) => Assert.Null(Line.TryCreate([(x0, y0), (x1, y1)]));

    [Fact]
    public void TryCreate_OfATurningLine_IsNull() => Assert.Null(Line.TryCreate([(0, 0), (1, 2), (2, 1)]));

    [Fact]
    public void Forward_BeyondTheEnds_GoesOnStraight()
    {
        Line line = Line.TryCreate([(0, 0), (1, 1), (2, 3)])!;
        Assert.Equal(-1, line.Forward(-1), 1e-12);
        Assert.Equal(5, line.Forward(3), 1e-12);
    }
}
