using System.Collections.Immutable;
using System.Text.RegularExpressions;
using Throughline.Circuits;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Evaluation;

/// <summary>Worst cases hold for every unit that can be built.</summary>
public sealed class ExtremesTests
{
    private const int Units = 400;

    public static TheoryData<string> Demos => ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "duct-temperature"];

    /// <summary>Property: units drawn anywhere inside their tolerances, adjusted by the procedure, at any rated condition, read between the worst cases.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Find_OverARange_ContainsEverySampledUnit(string demo)
    {
        Evaluator evaluator = CreateEvaluator(demo);
        CheckContext context = new(evaluator);
        List<Probe> probes = [.. evaluator.Model.TestPoints
            .Where(t => evaluator.Model.InputStages.Contains(t.Stage))
            .Select(t => Evaluator.VoltageProbe(evaluator.Model.Field, t.Point.Node.Value, t.Point.Return?.Value)!.Value)];
        Extreme[] extremes = context.Extremes.Find([.. probes.Select(p => new Reading(p))], context.RangeEnds, limited: false);
        Random random = new(20_260_101);
        Specification s = evaluator.Instrument.Specification;
        for (int unit = 0; unit < Units; unit++)
        {
            UnitState state = evaluator.NewState();
            Draw(evaluator, state, random);
            evaluator.Adjust(state);
            state.AmbientCelsius = s.Ambient.Low + (s.Ambient.Width * random.NextDouble());
            state.ProcessCelsius = s.Process.Low + (s.Process.Width * random.NextDouble());
            state.Measurand = s.Range.Low + (s.Range.Width * random.NextDouble());
            OperatingPoint point = evaluator.Field.Solve(state, limited: false);
            Assert.Equal(SolveStatus.Solved, point.Status);
            for (int p = 0; p < probes.Count; p++)
            {
                double volts = point.Voltage(probes[p].Plus, probes[p].Minus);

                // A microvolt: the adjustment stops when its meter reads the target to a billionth.
                Assert.InRange(volts, extremes[p].Low - 1e-6, extremes[p].High + 1e-6);
            }
        }
    }

    /// <summary>All trimmers found together stand where the rounds of the written procedure leave them, wipers beside their places and wrong meters included.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Adjust_AllStepsTogether_EndsWhereTheRoundsEnd(string demo)
    {
        Evaluator evaluator = CreateEvaluator(demo);
        Random random = new(20_261_127);
        for (int unit = 0; unit < Units / 4; unit++)
        {
            UnitState together = evaluator.NewState();
            Draw(evaluator, together, random);
            UnitState byRounds = evaluator.NewState();
            byRounds.CopyFrom(together);
            evaluator.Adjust(together);
            Assert.All(evaluator.Adjust(byRounds, withReadings: true), outcome => Assert.True(outcome.Reached, outcome.Step.Name.Value));
            for (int trimmer = 0; trimmer < together.Positions.Length; trimmer++)
            {
                Assert.Equal(byRounds.Positions[trimmer], together.Positions[trimmer], 1e-6);
            }
        }
    }

    /// <summary>The same where a unit is different in a single value, so that most steps have nothing to do.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Adjust_OneValueAtItsLimit_EndsWhereTheRoundsEnd(string demo)
    {
        Evaluator evaluator = CreateEvaluator(demo);
        ParameterSet parameters = evaluator.Model.Parameters;
        for (int parameter = 0; parameter < parameters.Count; parameter++)
        {
            UnitState together = evaluator.NewState();
            together.Values[parameter] = parameters.High(parameter);
            UnitState byRounds = together.Copy();
            evaluator.Adjust(together);
            evaluator.Adjust(byRounds, withReadings: true);
            for (int trimmer = 0; trimmer < together.Positions.Length; trimmer++)
            {
                Assert.Equal(byRounds.Positions[trimmer], together.Positions[trimmer], 1e-6);
            }
        }
    }

    /// <summary>What is different behind the isolation is no matter of the trimmers before it, to the last bit.</summary>
    [Fact]
    public void Adjust_DifferentBehindTheIsolation_LeavesTheTrimmersBeforeItAlone()
    {
        Evaluator evaluator = CreateEvaluator("hopper-bridge");
        ParameterSet parameters = evaluator.Model.Parameters;
        int[] before = [.. evaluator.Plan.Steps.Where(s => !s.Step.IsAtLoop).Select(s => s.Trimmer)];
        int[] behind = [.. evaluator.Plan.Steps.Where(s => s.Step.IsAtLoop).Select(s => s.Trimmer)];
        int moving = 0;
        for (int parameter = 0; parameter < parameters.Count; parameter++)
        {
            UnitState unit = evaluator.NewState();
            unit.Values[parameter] = parameters.High(parameter);
            evaluator.Adjust(unit);
            if (behind.Any(t => Math.Abs(unit.Positions[t] - evaluator.Nominal.Positions[t]) > 1e-4))
            {
                moving++;
                Assert.All(before, t => Assert.Equal(evaluator.Nominal.Positions[t], unit.Positions[t]));
            }
        }

        Assert.InRange(moving, 5, parameters.Count / 2);
    }

    /// <summary>The same where a resistor is so wrong that a trimmer is turned to its end and its step missed.</summary>
    [Theory]
    [MemberData(nameof(Demos))]
    public void Adjust_WithAWrongResistor_EndsWhereTheRoundsEnd(string demo)
    {
        string folder = Repository.PathOf("demo", demo);
        string text = File.ReadAllText(Path.Combine(folder, "instrument.yaml"));
        Match digit = Regex.Match(text, @"resistor: (\d)");
        Random random = new(11);
        for (char wrong = '1'; wrong <= '9'; wrong++)
        {
            string changed = text.Remove(digit.Groups[1].Index, 1).Insert(digit.Groups[1].Index, wrong.ToString());
            Evaluator evaluator = new(Model.Compile(InstrumentReader.ReadText("", changed, folder).Value!));
            for (int unit = 0; unit < 12; unit++)
            {
                UnitState together = evaluator.NewState();
                Draw(evaluator, together, random);
                UnitState byRounds = evaluator.NewState();
                byRounds.CopyFrom(together);
                ImmutableArray<AdjustmentOutcome> found = evaluator.Adjust(together);
                ImmutableArray<AdjustmentOutcome> expected = evaluator.Adjust(byRounds, withReadings: true);
                foreach ((AdjustmentOutcome one, AdjustmentOutcome other) in found.Zip(expected))
                {
                    Assert.Equal(other.Needed, one.Needed, 1e-5 * (1 + Math.Abs(other.Needed)));
                }

                for (int trimmer = 0; trimmer < together.Positions.Length; trimmer++)
                {
                    Assert.Equal(byRounds.Positions[trimmer], together.Positions[trimmer], 1e-6);
                }
            }
        }
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void Find_OverARange_IsReachedByAUnit(string demo)
    {
        Evaluator evaluator = CreateEvaluator(demo);
        CheckContext context = new(evaluator);
        Extreme extreme = context.ConverterInput!;
        Assert.True(extreme.Low < extreme.High);
        Probe probe = evaluator.ConverterProbe(evaluator.Model.Field)!.Value;
        foreach ((UnitState state, double value) in new[] { (extreme.AtLow, extreme.Low), (extreme.AtHigh, extreme.High) })
        {
            OperatingPoint point = evaluator.Field.Solve(state, limited: false);
            Assert.Equal(value, point.Voltage(probe.Plus, probe.Minus), 1e-9);
        }
    }

    private static Evaluator CreateEvaluator(string demo)
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml"));
        Assert.Empty(parsed.Diagnostics);
        return new Evaluator(Model.Compile(parsed.Value!));
    }

    private static void Draw(Evaluator evaluator, UnitState state, Random random)
    {
        ParameterSet parameters = evaluator.Model.Parameters;
        for (int i = 0; i < parameters.Count; i++)
        {
            state.Values[i] = parameters.Low(i) + ((parameters.High(i) - parameters.Low(i)) * random.NextDouble());
            Quantity q = parameters[i].Quantity;
            state.Drifts[i] = q.SignedDrift + (q.Drift * ((2 * random.NextDouble()) - 1));
        }
    }
}
