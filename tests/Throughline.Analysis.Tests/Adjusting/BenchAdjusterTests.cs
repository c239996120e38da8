using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Adjusting;

/// <summary>The adjustment as a person performs it, against dividers worked by hand.</summary>
public sealed class BenchAdjusterTests
{
    /// <summary>The secant search ends within a hundred-millionth of the target.</summary>
    private const double Search = 2e-8;

    private static (BenchResult Result, UnitState State) Adjust(Evaluator evaluator, params (string Parameter, double Value)[] unit)
    {
        UnitState state = evaluator.NewState();
        foreach ((string parameter, double value) in unit)
        {
            TrimmedDivider.Set(evaluator, state, parameter, value);
        }

        return (new BenchAdjuster(evaluator).Adjust(state), state);
    }

    [Fact] // 1 V of 2 V is in the middle
    public void Adjust_NominalDivider_StandsInTheMiddle()
    {
        (BenchResult result, UnitState state) = Adjust(TrimmedDivider.Evaluator(TrimmedDivider.Text(", turns: 10, at: 10 %")));
        Assert.Equal(1, result.Rounds);
        Assert.Equal(0.5, result.Steps[0].Position, Search);
        Assert.Equal(0.5, state.Positions[0], Search);
        Assert.Equal(0.4, result.Steps[0].Travel, Search);
        Assert.True(result.IsReached);
    }

    [Fact] // R1 of 4.5 kΩ: 1 V × 10.5 kΩ / 2 V − 4 kΩ = 1.25 kΩ of 2 kΩ
    public void Adjust_OtherResistor_FollowsByTheDividersRatio() =>
        Assert.Equal(0.625, Adjust(TrimmedDivider.Evaluator(TrimmedDivider.Text()), ("R1 resistance", 4500)).Result.Steps[0].Position, Search);

    [Fact] // R1 of 5.5 kΩ asks for 1.75 kΩ; of 6.5 kΩ for 2.25 kΩ, and the end gives 2 V × 6 / 12.5
    public void Adjust_BeyondTheEnd_StandsAtTheEnd()
    {
        BenchStepResult step = Adjust(TrimmedDivider.Evaluator(TrimmedDivider.Text()), ("R1 resistance", 6500)).Result.Steps[0];
        Assert.Equal(1, step.Position);
        Assert.Equal(1.125, step.Ideal, 1e-5); // by the straight line through the last two positions tried
        Assert.Equal(2 * 6 / 12.5, step.Truth, 1e-6); // the contact at the end has 1 mΩ
        Assert.False(step.IsReached);
    }

    [Fact] // 5° of 10 turns is 1/720 of the travel, which moves the meter by 0.4 V / 720; the hand leaves the wiper up to half of that away
    public void Setting_OfTurns_IsHalfOfFiveDegreesEitherWay()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(", turns: 10"));
        int setting = TrimmedDivider.IndexOf(evaluator, "VR1 setting");
        double half = evaluator.Model.Parameters.High(setting);
        Assert.Equal(0.5 * 5 / 3600, half, 1e-15);
        Assert.Equal(-half, evaluator.Model.Parameters.Low(setting));
        (BenchResult result, _) = Adjust(evaluator, ("VR1 setting", half));
        Assert.Equal(0.5 + half, result.Steps[0].Position, Search);
        Assert.Equal(1 + (0.4 * half), result.Steps[0].Truth, Search);
    }

    [Fact]
    public void Setting_StatedResolutionAndBacklash_AddUp()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(", turns: 10, resolution: 0.4 %, backlash: 0.6 %"));
        Assert.Equal(0.005, evaluator.Model.Parameters.High(TrimmedDivider.IndexOf(evaluator, "VR1 setting")), 1e-15);
        Assert.Equal(0.01, evaluator.Plan.Steps[0].Fineness, 1e-15);
    }

    [Fact] // 4 % of 0.4 V is 16 mV: half of it is beyond the tolerance of 1 mV, and no number of passes helps
    public void Adjust_CoarseTrimmer_IsNotReached()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(", resolution: 4 %"));
        (BenchResult result, _) = Adjust(evaluator, ("VR1 setting", -0.02));
        Assert.False(result.IsReached);
        Assert.Equal(1 - (0.4 * 0.02), result.Steps[0].Shown, Search);
        Assert.Equal(1, result.Rounds);
    }

    [Fact] // The meter shows 1.000 V where 1.000 V = truth × 1.002 + 1 mV + 0.3 mV
    public void Adjust_WrongMeter_LeavesTheTruthWrong()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(meter: "4.5 digit", bench: "bench: { meter: { error: ±0.2 %, fixed: ±1 mV, counts: 3 } }"));
        Assert.Equal(3e-4, evaluator.Model.Parameters.High(TrimmedDivider.IndexOf(evaluator, "bench meter digits in span")), 1e-15);
        (BenchResult result, _) = Adjust(evaluator, ("bench meter error", 0.002), ("bench meter fixed error", 1e-3), ("bench meter digits in span", 3e-4));
        double truth = (1 - 1.3e-3) / 1.002;
        Assert.Equal(1, result.Steps[0].Shown, Search);
        Assert.Equal(truth, result.Steps[0].Truth, Search);
        Assert.Equal(((truth * 10_000 / 2) - 4000) / 2000, result.Steps[0].Position, 1e-7);
    }

    [Fact] // 2 V wrong by 1 % and 5 mV is 2.025 V: 1 V × 10 kΩ / 2.025 V − 4 kΩ
    public void Adjust_WrongSource_LeavesTheTrimmerBesideItsPlace()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(bench: "bench: { source: { error: ±1 %, fixed: ±5 mV } }"));
        (BenchResult result, _) = Adjust(evaluator, ("bench source error", 0.01), ("bench source fixed error", 5e-3));
        Assert.Equal(((1 * 10_000 / 2.025) - 4000) / 2000, result.Steps[0].Position, 1e-7);
        Assert.Equal(1, result.Steps[0].Truth, Search);
    }

    /// <summary>Worst cases know the bench: the divider behind an exact converter reads what R1, hand, meter and source, each at its limit, make of it.</summary>
    [Fact]
    public void Extremes_OfTheAdjustedDivider_CarryEveryErrorOfTheBench()
    {
        Evaluator evaluator = TrimmedDivider.Evaluator(TrimmedDivider.Text(
            ", resolution: 0.2 %", meter: "4.5 digit", r1: "4 kΩ ±1 %", bench: "bench: { meter: { error: ±0.1 %, counts: 2 }, source: { error: ±0.05 % } }"));
        CheckContext context = new(evaluator);
        double high = context.ConverterInput!.High;

        // Low source and meter, and the hand above the ideal place by 0.1 % of 2 kΩ in 10 kΩ, R1 low or high: at 2 V of the sensor.
        double truth = (1 + 2e-4) / 0.999;
        double source = 2 * 0.9995;
        double expected = Math.Max(At(3960), At(4040));
        Assert.Equal(expected, high, 1e-7);

        double At(double r1) => TrimmedDivider.Volts((((truth * (6000 + r1) / source) - 4000) / 2000) + 0.001, r1: r1);
    }

    public static TheoryData<string> Demos => ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level"];

    /// <summary>Property: whatever the unit, what a step reached is within its tolerance, by what the meter shows; the truth is off by the meter's error besides.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Adjust_AnyUnit_ReachesItsTolerances(string demo)
    {
        Evaluator evaluator = Demo(demo);
        Random random = new(20_260_102);
        BenchAdjuster adjuster = new(evaluator);
        for (int unit = 0; unit < 200; unit++)
        {
            UnitState state = Draw(evaluator, random, 1);
            BenchResult result = adjuster.Adjust(state);
            for (int i = 0; i < result.Steps.Length; i++)
            {
                PlannedStep step = evaluator.Plan.Steps[i];
                Assert.True(result.Steps[i].IsReached, FormattableString.Invariant($"Unit {unit}, step {step.Step.Name.Value}: shows {result.Steps[i].Shown}."));
                double digits = step.MeterCounts < 0 ? 0 : evaluator.Model.Parameters.High(step.MeterCounts);
                Assert.InRange(Math.Abs(result.Steps[i].Truth - step.Target), 0, step.Tolerance + digits + 1e-12);
            }
        }
    }

    /// <summary>The adjustment that is infinitely fine is the limit of hands and tolerances that become ever finer.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Adjust_FinerAndFinerHand_TendsToTheIdealAdjustment(string demo)
    {
        Evaluator evaluator = Demo(demo);
        for (int unit = 0; unit < 20; unit++)
        {
            UnitState ideal = Draw(evaluator, new Random(unit), 0);
            evaluator.Adjust(ideal);
            foreach (double scale in new[] { 1, 1e-2, 1e-4 })
            {
                UnitState state = Draw(evaluator, new Random(unit), scale);
                AdjustmentPlan plan = new([.. evaluator.Plan.Steps.Select(s => s with { Tolerance = s.Tolerance * scale })]);
                new BenchAdjuster(evaluator, plan).Adjust(state);
                for (int i = 0; i < plan.Steps.Length; i++)
                {
                    // What the hand leaves and what the tolerance lets stand, and nothing else, is between the two.
                    double distance = Math.Abs(Truth(evaluator, state, i) - Truth(evaluator, ideal, i));
                    Assert.InRange(distance, 0, plan.Steps[i].Tolerance + (2 * Search * Math.Abs(plan.Steps[i].Target)));
                }
            }
        }
    }

    [Fact]
    public void Adjust_SameUnitTwice_IsTheSameToTheBit()
    {
        Evaluator evaluator = Demo("hopper-bridge");
        UnitState first = Draw(evaluator, new Random(7), 1);
        UnitState second = Draw(evaluator, new Random(7), 1);
        second.Positions.AsSpan().Fill(0.9);
        new BenchAdjuster(evaluator).Adjust(first);
        new BenchAdjuster(evaluator).Adjust(Draw(evaluator, new Random(8), 1));
        new BenchAdjuster(evaluator).Adjust(second);
        Assert.Equal(first.Positions, second.Positions);
    }

    private static Evaluator Demo(string demo)
    {
        Parsed<Instrument> read = InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml"));
        Assert.Empty(read.Diagnostics);
        return new Evaluator(Model.Compile(read.Value!));
    }

    private static double Truth(Evaluator evaluator, UnitState state, int step)
    {
        using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
        evaluator.SetSources(state, evaluator.Plan.Steps[step], bench.Drive);
        return evaluator.MeterReading(state, evaluator.Plan.Steps[step].Step);
    }

    /// <summary>A unit drawn evenly between its limits; the hand's setting is multiplied by a scale.</summary>
    private static UnitState Draw(Evaluator evaluator, Random random, double scale)
    {
        UnitState state = evaluator.NewState();
        for (int i = 0; i < evaluator.Model.Parameters.Count; i++)
        {
            double low = evaluator.Model.Parameters.Low(i);
            double value = low + ((evaluator.Model.Parameters.High(i) - low) * random.NextDouble());
            state.Values[i] = evaluator.Model.Parameters[i].Name == "setting" ? value * scale : value;
        }

        return state;
    }
}
