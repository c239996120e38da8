using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// The adjustment procedure as numbers and indices: what is set, what is turned, what the meter has to show, and which of a unit's parameters are errors of
/// the bench. It performs nothing, so that a unit by itself and a block of units side by side can be adjusted by the same description.
/// </summary>
internal sealed record AdjustmentPlan(ImmutableArray<PlannedStep> Steps)
{
    /// <summary>Passes through the whole procedure after which a person gives up.</summary>
    public const int MostRounds = 8;

    /// <param name="model">The model whose indices the plan holds.</param>
    /// <param name="voltsPerOutputCode">What a code of the output converter is worth on the nominal unit, V.</param>
    public static AdjustmentPlan Of(Model model, double voltsPerOutputCode)
    {
        BenchSection bench = model.Instrument.Bench;
        return new AdjustmentPlan([.. model.Instrument.Adjustment.Select(Plan)]);

        PlannedStep Plan(AdjustmentStep step, int number)
        {
            BenchDevice meter = bench.MeterOf(step.Target.Dimension);
            int trimmer = model.TrimmerIndex(step.Turn.Value);
            ITrimmer? part = trimmer < 0 ? null : (ITrimmer)model.Trimmers[trimmer];
            return new PlannedStep
            {
                Step = step,
                Number = number,
                Trimmer = trimmer,
                Start = part?.InitialPosition ?? double.NaN,
                Fineness = (part?.Resolution ?? 0) + (part?.Backlash ?? 0),
                Backlash = part?.Backlash ?? 0,
                Target = step.Target.Value,
                Tolerance = step.Target.Tolerance > 0 ? step.Target.Tolerance : DefaultTolerance(step.Target.Value),
                Count = step.MeterCount,
                Sources = [.. step.With.Where(s => !model.IsInnerSource(s)).Select(Source)],
                MeterError = IndexOf(meter.Error),
                MeterFixed = meter.Fixed?.Quantity.Dimension == step.Target.Dimension ? IndexOf(meter.Fixed) : -1,
                MeterCounts = IndexOf(step.MeterCounts),
                Setting = part is null ? -1 : IndexOf(part.Setting),
            };
        }

        PlannedSource Source(SetSource source)
        {
            double value = source.Value.Value;
            if (Evaluator.IsOutputCode(source))
            {
                return new PlannedSource(true, value * voltsPerOutputCode, 1, -1, -1);
            }

            bool isDrive = model.OutputConverter is { } dac && source.Node.Value == dac.Output.Value;
            int sign = !isDrive && IsReversed(source) ? -1 : 1;
            BenchDevice device = bench.Source;
            return new PlannedSource(
                isDrive, value, sign, IndexOf(device.Error), device.Fixed?.Quantity.Dimension == source.Value.Dimension ? IndexOf(device.Fixed) : -1);
        }

        // The bench's leads go to the node that the step names, whichever way round the sensor is connected.
        bool IsReversed(SetSource source) =>
            model.Instrument.Sensor is { SignalKind: SignalKind.Voltage, Terminals.Length: > 1 } sensor && sensor.Terminals[1].Node.Value == source.Node.Value;

        int IndexOf(Parameter? parameter) => parameter is null ? -1 : model.Parameters.IndexOf(parameter);
    }

    /// <summary>What is near enough where the file does not say: a thousandth of the target.</summary>
    private static double DefaultTolerance(double target) => 1e-3 * Math.Max(Math.Abs(target), 1e-3);
}

/// <summary>
/// One step of the procedure. Indices are those of the model's parameters, −1 where there is none; every error is 0 on the nominal unit. The meter shows
/// truth × (1 + error) + fixed error + digits.
/// </summary>
internal sealed record PlannedStep
{
    public required AdjustmentStep Step { get; init; }

    /// <summary>Place in the written procedure, from 0.</summary>
    public required int Number { get; init; }

    /// <summary>Index in the model's trimmers; −1 when there is none of that name, and the step turns nothing.</summary>
    public required int Trimmer { get; init; }

    /// <summary>Where the trimmer stands before the first pass, 0 to 1.</summary>
    public required double Start { get; init; }

    /// <summary>The least change of its position that a hand can be sure of in either direction, a share of the travel; 0 when nothing is known.</summary>
    public required double Fineness { get; init; }

    public required double Backlash { get; init; }

    /// <summary>What the meter shall show, V or A.</summary>
    public required double Target { get; init; }

    /// <summary>Greatest distance of what it shows from the target, V or A; above 0.</summary>
    public required double Tolerance { get; init; }

    /// <summary>One step of the meter's last digit, V or A; 0 when not known.</summary>
    public required double Count { get; init; }

    public required ImmutableArray<PlannedSource> Sources { get; init; }

    public required int MeterError { get; init; }

    public required int MeterFixed { get; init; }

    public required int MeterCounts { get; init; }

    /// <summary>Where the hand leaves the wiper beside the ideal position, a share of the travel.</summary>
    public required int Setting { get; init; }

    /// <summary>What the meter shows at a true value.</summary>
    public double Shown(UnitState state, double truth) => (truth * (1 + Of(state, MeterError))) + Of(state, MeterFixed) + Of(state, MeterCounts);

    /// <summary>The true value at which the meter shows the target.</summary>
    public double Wanted(UnitState state) => (Target - Of(state, MeterFixed) - Of(state, MeterCounts)) / (1 + Of(state, MeterError));

    /// <summary>Whether a meter's shown value is good enough.</summary>
    public bool IsWithin(double shown) => Math.Abs(shown - Target) <= Tolerance;

    /// <summary>Where the wiper comes to stand when the ideal position, perhaps beyond an end, is known.</summary>
    public double Rest(UnitState state, double ideal) => Math.Clamp(ideal + Of(state, Setting), 0, 1);

    /// <summary>A parameter of the state's unit; 0 for the index −1. The bench's errors do not drift.</summary>
    internal static double Of(UnitState state, int parameter) => parameter < 0 ? 0 : state.ValuesOf(parameter)[state.Lane];
}

/// <summary>What the bench sets in a step.</summary>
/// <param name="IsDrive">Whether it is the output converter's voltage, else the sensor's signal.</param>
/// <param name="Value">V, or in the unit of the sensor's signal, as the step states it.</param>
/// <param name="Sign">−1 where the leads go to the sensor's second terminal.</param>
/// <param name="Error">Index of the source's error as a share; −1 for none, as with a code, which the instrument itself sets.</param>
/// <param name="Fixed">Index of the source's fixed error; −1 for none.</param>
internal readonly record struct PlannedSource(bool IsDrive, double Value, int Sign, int Error, int Fixed)
{
    /// <summary>What the source of this unit's bench really gives.</summary>
    public double Given(UnitState state) => Sign * ((Value * (1 + PlannedStep.Of(state, Error))) + PlannedStep.Of(state, Fixed));
}
