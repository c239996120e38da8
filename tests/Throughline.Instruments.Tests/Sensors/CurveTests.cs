using CsCheck;
using Throughline.Instruments.Physics;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class CurveTests
{
    [Fact] // By definition: straight between the points, nothing outside
    public void PiecewiseLinear_IsStraightBetweenItsPoints()
    {
        PiecewiseLinear curve = new([(10, 4.5), (0, 0.5), (5, 2.0)]);
        Assert.Equal(1, curve.Direction);
        Assert.Equal((0.5, 2.0, 4.5), (curve.Y(0), curve.Y(5), curve.Y(10)));
        Assert.Equal(1.25, curve.Y(2.5), 1e-15);
        Assert.Equal(3.25, curve.Y(7.5), 1e-15);
        Assert.Equal(7.5, curve.X(3.25), 1e-14);
        Assert.Equal((double.NaN, double.NaN), (curve.Y(-0.001), curve.Y(10.001)));
        Assert.Equal((double.NaN, double.NaN), (curve.X(0.499), curve.X(4.501)));
        Assert.Equal(5.0, curve.Extended(11), 1e-14);
        Assert.Equal(0.2, curve.Extended(-1), 1e-14);
    }

    [Fact]
    public void PiecewiseLinear_ThatTurns_HasNoInverse()
    {
        PiecewiseLinear curve = new([(0, 1), (1, 2), (2, 2)]);
        Assert.Equal(0, curve.Direction);
        Assert.Equal(double.NaN, curve.X(1.5));
    }

    [Fact]
    public void PiecewiseLinear_OfBadPoints_Throws()
    {
        Assert.Throws<ArgumentException>(() => new PiecewiseLinear([(0, 1)]));
        Assert.Throws<ArgumentException>(() => new PiecewiseLinear([(0, 1), (0, 2)]));
        Assert.Throws<ArgumentException>(() => new PiecewiseLinear([(0, 1), (1, double.NaN)]));
    }

    [Fact] // Property: table values of any falling table are read back
    public void PiecewiseLinear_Falling_ReadsBack() => Gen.Select(Gen.Double[0.1, 5].Array[2, 12], Gen.Double[0, 1]).Sample((steps, part) =>
    {
        double x = 0, y = 100;
        PiecewiseLinear curve = new([(0, 100), .. steps.Select((s, i) => (x += s, y -= steps[steps.Length - 1 - i]))]);
        double at = part * curve.HighestX;
        return curve.Direction == -1 && Math.Abs(curve.X(curve.Y(at)) - at) <= 1e-9 * Math.Max(1, at);
    });

    [Fact] // (x − 1)(x − 3) turns at 2: rising above, falling below, neither across
    public void Polynomial_KnowsWhereItTurns()
    {
        double[] coefficients = [3, -4, 1];
        Assert.Equal(1, new PolynomialCurve(coefficients, 2, 9).Direction);
        Assert.Equal(-1, new PolynomialCurve(coefficients, -9, 2).Direction);
        Assert.Equal(0, new PolynomialCurve(coefficients, 1.9, 9).Direction);
        Assert.Equal(0, new PolynomialCurve([5], 0, 1).Direction);
        Assert.Equal(double.NaN, new PolynomialCurve(coefficients, 0, 4).X(0));
    }

    [Fact] // A narrow turn that samples would miss: slope (x − 0.5)² − 1e-8 is negative only within 1e-4 of 0.5
    public void Polynomial_WithANarrowTurn_HasNoInverse()
    {
        Assert.Equal(0, new PolynomialCurve([0, 0.25 - 1e-8, -0.5, 1.0 / 3], 0, 1).Direction);
        Assert.Equal(1, new PolynomialCurve([0, 0.25 + 1e-8, -0.5, 1.0 / 3], 0, 1).Direction);
    }

    [Fact] // Property: the cubic with a positive slope everywhere is inverted to a double's accuracy
    public void Polynomial_Rising_ReadsBack() => Gen.Select(Gen.Double[0.5, 2], Gen.Double[-0.1, 0.1], Gen.Double[0, 0.05], Gen.Double[-5, 5])
        .Sample((b, c, d, x) =>
        {
            PolynomialCurve curve = new([0.3, b + 10 * c * c, c, d + c * c], -5, 5);
            return curve.Direction != 1 || Math.Abs(curve.X(curve.Y(x)) - x) <= 1e-9 * Math.Max(1, Math.Abs(x));
        });

    [Fact]
    public void Polynomial_OfBadArguments_Throws()
    {
        Assert.Throws<ArgumentException>(() => new PolynomialCurve([], 0, 1));
        Assert.Throws<ArgumentException>(() => new PolynomialCurve([1, double.PositiveInfinity], 0, 1));
        Assert.Throws<ArgumentException>(() => new PolynomialCurve([1, 2], 1, 1));
    }

    [Fact] // IEC 60751 above 0 °C is such a polynomial: 138.51 and 247.09 Ω, printed to 0.01 Ω
    public void Polynomial_OfPlatinum_MatchesTheStandard()
    {
        PolynomialCurve curve = new([100, 0.39083, -5.775e-5], 0, 850);
        Assert.Equal(138.51, curve.Y(100), 0.005);
        Assert.Equal(247.09, curve.Y(400), 0.005);
        Assert.Equal(400, curve.X(247.092), 1e-9);
    }
}
