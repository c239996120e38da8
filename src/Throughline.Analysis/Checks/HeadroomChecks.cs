using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>No amplifier is asked for more than its output can give.</summary>
internal sealed class OutputHeadroomCheck : Check
{
    /// <summary>V. Without its limit an amplifier that has lost its feedback asks for any voltage; a figure of that kind says nothing.</summary>
    private const double FarBeyond = 50;

    public override string Name => "headroom at amplifier output";

    public override string MustHold => "Over the measuring range and all rated conditions, on every unit, each amplifier's output stays inside what it can swing.";

    public override string Formula => "Worst case of supply − swing − output and of output − swing − return, solved without limits; margin of half the swing.";

    public override string Source => "Franco, Design with Operational Amplifiers and Analog Integrated Circuits, output saturation; worst case by exact sensitivities.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (AmplifierExtremes amplifier in context.Amplifiers)
        {
            double room = Math.Min(amplifier.OutputBelow, amplifier.OutputAbove);
            if (double.IsNaN(room))
            {
                continue;
            }

            double half = (amplifier.OutputBelow + amplifier.OutputAbove) / 2;
            UnitState? at = amplifier.OutputBelow < amplifier.OutputAbove ? amplifier.AtOutputBelow : amplifier.AtOutputAbove;
            string side = amplifier.OutputBelow < amplifier.OutputAbove ? "upper" : "lower";
            string where = Where(context, at);
            yield return CheckContext.Finding(
                this,
                amplifier.Pins.Name,
                context.StageOf(amplifier.Pins.Name),
                room / Math.Max(half, Math.Abs(room)),
                room >= 0
                    ? $"{Engineering.Format(room, "V", 3)} left at the {side} limit of {amplifier.Pins.Name} in the worst case{where}."
                    : room < -FarBeyond
                        ? $"{amplifier.Pins.Name} stands fully against its {side} limit in the worst case{where}: no output voltage would do."
                        : $"{Engineering.Format(-room, "V", 3)} beyond the {side} limit of {amplifier.Pins.Name} in the worst case{where}.",
                NearerFirst(new Figure("left below the upper limit", amplifier.OutputBelow, "V"), new Figure("left above the lower limit", amplifier.OutputAbove, "V")),
                amplifier.OutputBelow < amplifier.OutputAbove
                    ? $"Less gain or a lower zero, a higher supply, or a grade that swings closer to the supply than {amplifier.Pins.Name} does."
                    : $"A higher zero, a lower negative supply, or a grade that swings closer to it than {amplifier.Pins.Name} does.",
                context.PlaceOf(amplifier.Pins.Name));
        }
    }

    /// <summary>Two distances with the smaller one, which the margin is made of, in front: a narrow window shows the first figure only.</summary>
    internal static ImmutableArray<Figure> NearerFirst(Figure a, Figure b) => double.IsNaN(a.Value) || b.Value < a.Value ? [b, a] : [a, b];

    internal static string Where(CheckContext context, UnitState? state) =>
        state is null ? "" : $", at {context.At(state.Measurand)} and {Engineering.Number(state.AmbientCelsius, 3)} °C ambient";
}

/// <summary>Amplifier inputs stay where their maker guarantees them to work.</summary>
internal sealed class InputRangeCheck : Check
{
    public override string Name => "amplifier input range";

    public override string MustHold => "Over the measuring range and all rated conditions both inputs of each amplifier stay inside its guaranteed input range.";

    public override string Formula => "Worst case of input − (negative supply + distance) and (positive supply − distance) − input; margin of half the range.";

    public override string Source => "Franco, Design with Operational Amplifiers and Analog Integrated Circuits, input voltage range; worst case by exact sensitivities.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (AmplifierExtremes amplifier in context.Amplifiers)
        {
            double room = Min(amplifier.InputBelow, amplifier.InputAbove);
            if (double.IsNaN(room))
            {
                continue;
            }

            double half = double.IsNaN(amplifier.InputBelow) || double.IsNaN(amplifier.InputAbove)
                ? Math.Abs(room)
                : (amplifier.InputBelow + amplifier.InputAbove) / 2;
            bool upper = amplifier.InputBelow == room;
            UnitState? at = upper ? amplifier.AtInputBelow : amplifier.AtInputAbove;
            ImmutableArray<Figure> figures =
            [
                .. OutputHeadroomCheck.NearerFirst(new Figure("left below the end", amplifier.InputBelow, "V"), new Figure("left above the start", amplifier.InputAbove, "V")),
                .. Bounds(context, amplifier),
            ];
            string bounds = figures.Length > 3
                ? $" Its guaranteed range runs from {Engineering.Format(figures[2].Value, "V", 3, signed: true)} to {Engineering.Format(figures[3].Value, "V", 3, signed: true)} on stated supplies."
                : figures.Length == 3 ? $" Its guaranteed range {figures[2].Name} {Engineering.Format(figures[2].Value, "V", 3, signed: true)} on stated supplies." : "";
            yield return CheckContext.Finding(
                this,
                amplifier.Pins.Name,
                context.StageOf(amplifier.Pins.Name),
                room / Math.Max(half, Math.Abs(room)),
                (room >= 0
                    ? $"{Engineering.Format(room, "V", 3)} left at the {(upper ? "upper" : "lower")} end of {amplifier.Pins.Name}'s input range in the worst case{OutputHeadroomCheck.Where(context, at)}."
                    : $"An input of {amplifier.Pins.Name} goes {Engineering.Format(-room, "V", 3)} {(upper ? "above the end" : "below the start")} of its guaranteed range{OutputHeadroomCheck.Where(context, at)}.")
                    + bounds,
                figures,
                upper
                    ? "Bias the signal lower, raise the supply, or take a grade whose inputs reach the positive supply."
                    : "Bias the signal higher, lower the negative supply, or take a grade whose inputs reach the negative supply.",
                context.PlaceOf(amplifier.Pins.Name));
        }
    }

    private static double Min(double a, double b) => double.IsNaN(a) ? b : double.IsNaN(b) ? a : Math.Min(a, b);

    /// <summary>Start and end of the guaranteed range on the nominal unit, against the amplifier's return, V.</summary>
    private static IEnumerable<Figure> Bounds(CheckContext context, AmplifierExtremes amplifier)
    {
        AmplifierPins pins = amplifier.Pins;
        if (pins.IsIsolation)
        {
            yield break;
        }

        Evaluator evaluator = context.Evaluator;
        UnitState state = evaluator.NewState();
        if (evaluator.Field.Solve(state, limited: true).Status != SolveStatus.Solved)
        {
            yield break;
        }

        if (pins.Limits.InputAboveNegative is { } above)
        {
            yield return new Figure("begins at", Evaluator.Volts(evaluator.Field, pins.Negative, null) + above(state), "V");
        }

        if (pins.Limits.InputBelowPositive is { } below)
        {
            yield return new Figure("ends at", Evaluator.Volts(evaluator.Field, pins.Positive, null) - below(state), "V");
        }
    }
}
