using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>
/// The budget's sensitivities against differences of the whole nonlinear chain: one contribution moved a little to either side, the unit adjusted by its procedure,
/// calibrated and read anew.
/// </summary>
public sealed class BruteForceTests
{
    /// <summary>Part of the limit that a contribution is moved by, once and twice: so much that the adjustment's 1e-8 is little against it; the third order cancels between the two.</summary>
    private const double Step = 0.15;

    public static TheoryData<string, BudgetMoment> DemoMoments
    {
        get
        {
            TheoryData<string, BudgetMoment> all = [];
            foreach (string demo in Demos.All)
            {
                foreach (BudgetMoment moment in Enum.GetValues<BudgetMoment>())
                {
                    all.Add(demo, moment);
                }
            }

            return all;
        }
    }

    [Theory]
    [MemberData(nameof(DemoMoments))]
    public void Sensitivity_OfEveryContribution_IsThatOfTheWholeChain(string demo, BudgetMoment moment)
    {
        Evaluator evaluator = new(Model.Compile(Demos.Read(demo)));
        CheckContext context = new(evaluator);
        BudgetBuilder builder = new(context);
        ExactChain exact = new(evaluator);
        QuantityRange range = context.Specification.Range;
        int compared = 0;
        foreach (double x in new[] { range.Low, range.Low + (0.3 * range.Width), range.High })
        {
            BudgetTable[] tables = [.. builder.At(x, moment, withFull: false)];
            Assert.Equal(2, tables.Length);
            foreach (Contribution c in Contributions.Of(context.Model).Where(c => IsCompared(c, moment)))
            {
                foreach (BudgetTable table in tables)
                {
                    double slope = Corners(context, moment).Select(corner => Slope(evaluator, exact, c, x, moment, table.Output, corner)).MaxBy(Math.Abs);
                    double expected = slope * c.Limit;
                    double actual = (table.Lines.FirstOrDefault(l => l.Name == c.Name)?.Sensitivity ?? 0) * c.Limit;

                    // 1e-4 of the effect; and a fifty-thousandth of the allowed error, which is what the adjustment's last digit leaves uncertain where all but nothing is left.
                    double tolerance = (1e-4 * Math.Abs(expected)) + (2e-5 * table.Allowed);
                    Assert.True(
                        Math.Abs(Math.Abs(actual) - Math.Abs(expected)) <= tolerance,
                        $"{demo}, {moment}, {table.Output} at {x}: {c.Name} is {actual:R}, by differences {expected:R} (allowed error {table.Allowed:R}).");
                    compared++;
                }
            }
        }

        Assert.True(compared > 200);
    }

    private static bool IsCompared(Contribution c, BudgetMoment moment) =>
        !c.Name.Contains("nonlinearity", StringComparison.Ordinal)
        && (c.Target is ContributionTarget.Value or ContributionTarget.Drift || (c.Target == ContributionTarget.OutsideSupply && moment == BudgetMoment.Rated));

    private static IEnumerable<(double Ambient, double Process, double Age)> Corners(CheckContext context, BudgetMoment moment)
    {
        UnitState nominal = context.Evaluator.Nominal;
        if (moment != BudgetMoment.Rated)
        {
            return [(nominal.AmbientCelsius, nominal.ProcessCelsius, 0)];
        }

        Specification s = context.Specification;
        double[] ambients = s.Ambient.Width > 0 ? [s.Ambient.Low, s.Ambient.High] : [nominal.AmbientCelsius];
        double[] processes = s.Process.Width > 0 ? [s.Process.Low, s.Process.High] : [nominal.ProcessCelsius];
        return from a in ambients from p in processes select (a, p, s.CalibrationInterval?.Value ?? 0);
    }

    private static double Slope(
        Evaluator evaluator, ExactChain exact, Contribution c, double x, BudgetMoment moment, BudgetOutput output, (double Ambient, double Process, double Age) corner)
    {
        double step = Step * c.Limit;
        return ((8 * (At(+step) - At(-step))) - (At(2 * step) - At(-2 * step))) / (12 * step);

        double At(double deviation)
        {
            UnitState unit = evaluator.NewState();
            if (moment == BudgetMoment.AsBuilt)
            {
                evaluator.Model.CreateState().Positions.CopyTo(unit.Positions, 0);
                unit.OutputTrim = OutputTrim.Neutral;
            }

            if (c.Target == ContributionTarget.Drift)
            {
                unit.Drifts[c.Index] += deviation;
            }
            else
            {
                unit.Values[c.Index] += deviation;
            }

            if (moment != BudgetMoment.AsBuilt)
            {
                evaluator.Adjust(unit);
                evaluator.TrimOutput(unit, limited: false);
            }

            double moved = unit.Values[c.Index];
            var inStandards = moment >= BudgetMoment.AfterCalibration ? exact.InStandards(unit, exact.StandardCelsius) : [];
            unit.Values[c.Index] = moved;
            unit.Measurand = x;
            (unit.AmbientCelsius, unit.ProcessCelsius, unit.AgeSeconds) = corner;
            double indicated = exact.Indicated(exact.Signal(unit), inStandards.AsSpan(), exact.StandardCelsius, unit);
            return output == BudgetOutput.Display ? indicated : exact.Loop(unit, indicated);
        }
    }
}
