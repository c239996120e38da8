using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>The search for the place where an output gives out, on functions that are level up to a bend, as a stage in control is.</summary>
public sealed class OutputStageTests
{
    /// <summary>As many as halving alone takes from a range to a millionth of it.</summary>
    private const int Halvings = 21;

    /// <summary>A straight line beyond the bend, one that grows steeper and one that becomes flatter; upwards and downwards.</summary>
    [Theory]
    [InlineData(1.0, 0.1, 1.0)]
    [InlineData(1.0, 3.7, 1.0)]
    [InlineData(2.0, 0.1, 1.0)]
    [InlineData(2.0, 40.0, 1.0)]
    [InlineData(0.5, 0.1, 1.0)]
    [InlineData(0.5, 3.7, 1.0)]
    [InlineData(1.0, 0.1, -1.0)]
    [InlineData(2.0, 3.7, -1.0)]
    public void Search_LevelUpToABend_FindsWhereItPasses(double power, double steepness, double direction)
    {
        const double Level = 1e-3;
        for (int place = 1; place < 20; place++)
        {
            double bend = 100 + (place * 47.3);
            int solves = 0;
            double Excess(double x)
            {
                solves++;
                double beyond = direction > 0 ? x - bend : bend - x;
                return (beyond > 0 ? steepness * Math.Pow(beyond / 100, power) : 0) - Level;
            }

            double passes = bend + (direction * 100 * Math.Pow(Level / steepness, 1 / power));
            double found = direction > 0 ? OutputStage.Search(50, 1200, Excess) : OutputStage.Search(1200, 50, Excess);
            Assert.InRange(Math.Abs(found - passes), 0, 1.01e-6 * 1200);
            Assert.True(Excess(found) <= 0);

            // One that is not straight tells less of where, and every other step halves.
            Assert.InRange(solves, 1, power == 1 ? Halvings : 2 * Halvings);
        }
    }

    /// <summary>Where a stage gives nothing at all, the excess is a number that stands for it.</summary>
    [Fact]
    public void Search_ASuddenStep_FindsIt()
    {
        double found = OutputStage.Search(0.004, 0.033, x => x > 0.0217 ? 1 : -1.6e-5);
        Assert.InRange(found, 0.0217 * (1 - 1e-6), 0.0217);
    }
}
