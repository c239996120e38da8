using Throughline.Analysis.Tests.Corpus;
using Throughline.Circuits;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Compilation;

/// <summary>What ages reaches the readings at an age; expected figures are the divider's and the converter's formulas by hand.</summary>
public sealed class AgeingTests
{
    private const double KiloHour = 3.6e6;

    [Fact] // 1 V · R2/(R1 + R2) with R1 up by 1000 ppm after one kilohour
    public void Solve_AgedResistor_MovesTheDivider()
    {
        Evaluator evaluator = Create("10 kΩ, ages: ±0.1 %/kh", "reference: 2.5 V");
        Assert.Equal(1 / 2.001, ConverterVolts(evaluator, At(evaluator, KiloHour, "R1 ageing")), 1e-12);
        Assert.Equal(0.5, ConverterVolts(evaluator, At(evaluator, 0, "R1 ageing")), 1e-12);
    }

    [Fact] // a reference that is 1000 ppm high makes the code 1/1.001 of what it was
    public void Code_AgedReference_IsSmaller()
    {
        Evaluator evaluator = Create("10 kΩ", "reference: 2.5 V, reference ages: ±0.1 %/kh");
        Assert.Equal(4096 * 0.5 / 2.5, Code(evaluator, 0), 1e-9);
        Assert.Equal(4096 * 0.5 / 2.5 / 1.001, Code(evaluator, KiloHour), 1e-9);
    }

    [Fact] // d/dp of 1 V · R2/(R1 (1 + p·t) + R2) at p = 0 is −t/4
    public void Gradient_OfAgeing_IsThatOfTheFormula()
    {
        Evaluator evaluator = Create("10 kΩ, ages: ±0.1 %/kh", "reference: 2.5 V");
        UnitState state = evaluator.NewState();
        state.Measurand = 100;
        state.AgeSeconds = KiloHour;
        evaluator.Field.Solve(state, limited: false);
        Gradient gradient = new CheckContext(evaluator).Extremes.Gradient(new Reading(evaluator.ConverterProbe(evaluator.Model.Field)!.Value), evaluator.Field, state);
        Assert.Equal(-KiloHour / 4, gradient.Values[Index(evaluator, "R1 ageing")], KiloHour * 1e-9);
    }

    private static Evaluator Create(string upper, string adc) => new(Model.Compile(Sketch.Read(Sketch.Divider(upper, adc: adc))));

    private static int Index(Evaluator evaluator, string parameter) =>
        evaluator.Model.Parameters.IndexOf(evaluator.Model.Parameters.All.Single(p => p.ToString() == parameter));

    /// <summary>A unit at the top of its range that has aged for a while as fast as it may.</summary>
    private static UnitState At(Evaluator evaluator, double age, string parameter)
    {
        UnitState state = evaluator.NewState();
        state.Measurand = 100;
        state.AgeSeconds = age;
        int index = Index(evaluator, parameter);
        state.Values[index] = evaluator.Model.Parameters.High(index);
        return state;
    }

    private static double ConverterVolts(Evaluator evaluator, UnitState state)
    {
        OperatingPoint point = evaluator.Field.Solve(state, limited: false);
        Probe probe = evaluator.ConverterProbe(evaluator.Model.Field)!.Value;
        return point.Voltage(probe.Plus, probe.Minus);
    }

    private static double Code(Evaluator evaluator, double age)
    {
        UnitState state = At(evaluator, age, "reading ageing");
        return evaluator.ExactCode(evaluator.Field, ConverterVolts(evaluator, state), state);
    }
}
