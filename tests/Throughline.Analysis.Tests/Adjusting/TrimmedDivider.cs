using Throughline.Analysis.Tests.Corpus;

namespace Throughline.Analysis.Tests.Adjusting;

/// <summary>
/// A divider whose every figure can be worked by hand: 2 V over R1 = 4 kΩ, a trimmer of 2 kΩ and R2 = 4 kΩ. The wiper gives 2 V × (4 kΩ + x × 2 kΩ) / 10 kΩ,
/// 0.8 V to 1.2 V over the travel.
/// </summary>
internal static class TrimmedDivider
{
    public static string Text(string trimmer = "", string target = "1.000 V ±1 mV", string meter = "", string set = "2 V", string bench = "", string r1 = "4 kΩ") => $$"""
        instrument: Trimmed divider
        specification: { measurand: pressure, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±1 kPa } }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 2 V }, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts:
                R1: { resistor: {{r1}}, between: [s, top] }
                VR1: { trimmer: 2 kΩ, ends: [bottom, top], wiper: adc{{trimmer}} }
                R2: { resistor: 4 kΩ, between: [bottom, 0V] }
                R3: { resistor: 10 kΩ, between: [A5, 0V] }
              from: [s, 0V]
              to: adc
              intent: { 0 V: 0 V, 2 V: 1 V }
              test points: { TP1: adc }
          - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand }
        adjustment:
          - span: { with: { s: {{set}} }, turn: VR1, until: { TP1: {{target}} }{{(meter.Length > 0 ? ", meter: " + meter : "")}} }
        {{bench}}
        """;

    /// <summary>The wiper's voltage by hand, R1 and R2 as they are.</summary>
    public static double Volts(double position, double source = 2, double r1 = 4000, double r2 = 4000) => source * (r2 + (position * 2000)) / (r1 + 2000 + r2);

    public static Evaluator Evaluator(string text) => new(Model.Compile(Sketch.Read(text)));

    /// <summary>Sets one of a unit's parameters by its name.</summary>
    public static void Set(Evaluator evaluator, UnitState state, string parameter, double value) => state.Values[IndexOf(evaluator, parameter)] = value;

    public static int IndexOf(Evaluator evaluator, string parameter)
    {
        ParameterSet parameters = evaluator.Model.Parameters;
        return Enumerable.Range(0, parameters.Count).Single(i => parameters[i].ToString() == parameter);
    }
}
