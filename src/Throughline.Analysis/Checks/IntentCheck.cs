using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Every circuit stage gives what its intent says.</summary>
internal sealed class IntentCheck : Check
{
    /// <summary>Allowed where the intent states no tolerance, of its own span.</summary>
    private const double DefaultFraction = 0.005;

    /// <summary>A resistor that would have to change more than so many times is not what is wrong.</summary>
    private const double GreatestChange = 10;

    /// <summary>Of two that would have to change about alike, as the two of a divider do, the first in the file is named.</summary>
    private const double ClearlyLess = 0.9;

    public override string Name => "stage does what its intent says";

    public override string MustHold => "At each point of a stage's intent the nominal, adjusted circuit gives the intended value within its tolerance, or 0.5 % of the intent's span where none is stated.";

    public override string Formula => "Operating point of the whole network with the bench's source in the sensor's place (or the output converter set) so that the incoming value is the intent's.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (CircuitStage stage in context.Model.CircuitStages)
        {
            if (stage.Intent.Length >= 2)
            {
                yield return Judge(context, stage);
            }
        }
    }

    private Finding Judge(CheckContext context, CircuitStage stage)
    {
        Evaluator evaluator = context.Evaluator;
        bool loop = evaluator.OutgoingNodes(stage).Node == Loop.Word;
        string outUnit = loop ? "A" : "V";
        string inUnit = evaluator.IntentIsSignal(stage) ? context.SignalUnit : "V";
        double span = stage.Intent.Max(p => p.To.Value) - stage.Intent.Min(p => p.To.Value);
        double worst = double.PositiveInfinity;
        string statement = "";
        SourceSpan place = stage.Span;
        List<Figure> figures = [];
        double[] given = new double[stage.Intent.Length];
        for (int i = 0; i < stage.Intent.Length; i++)
        {
            ScalePoint point = stage.Intent[i];
            given[i] = evaluator.OutgoingAt(stage, evaluator.NewState(), point.From.Value);
            double allowed = Allowed(point, span);
            double error = given[i] - point.To.Value;

            // A point without a value is the worst of all, whatever the others give.
            double margin = double.IsNaN(error) ? double.NegativeInfinity : CheckContext.MarginOf(error, allowed);
            figures.Add(new Figure($"at {Engineering.Format(point.From.Value, inUnit)}", given[i], outUnit));
            figures.Add(new Figure($"intended at {Engineering.Format(point.From.Value, inUnit)}", point.To.Value, outUnit));
            if (margin < worst)
            {
                worst = margin;
                place = point.Span;
                statement = double.IsNaN(error)
                    ? $"Nothing that drives the chain brings {Engineering.Format(point.From.Value, inUnit)} to the stage's input, or nothing comes out there."
                    : $"Gives {Engineering.Format(given[i], outUnit)} at {Engineering.Format(point.From.Value, inUnit)}; "
                    + $"intended {Engineering.Format(point.To.Value, outUnit)} ±{Engineering.Format(allowed, outUnit, 2)}.";
            }
        }

        (ScalePoint a, ScalePoint b) = (stage.Intent[0], stage.Intent[^1]);
        string? mend = null;
        if (double.IsNegativeInfinity(worst))
        {
            mend = "See that `from` and `to` name the nodes where the signal comes in and goes out, and that parts join them.";
        }
        else if (worst < CheckContext.MarginalBelow)
        {
            double run = b.From.Value - a.From.Value;
            double intendedSlope = (b.To.Value - a.To.Value) / run;
            double givenSlope = (given[^1] - given[0]) / run;
            double intendedZero = a.From.Value - (a.To.Value / intendedSlope);
            double givenZero = a.From.Value - (given[0] / givenSlope);
            if (Math.Abs(givenZero) < 1e-9 * Math.Abs(run))
            {
                givenZero = 0;    // what rounding leaves
            }

            mend = MendByOnePart(context, stage, outUnit);
            if (loop && inUnit == "V")
            {
                figures.Add(new Figure("intended span as a resistance", 1 / intendedSlope, "Ω"));
                figures.Add(new Figure("span of the circuit as a resistance", 1 / givenSlope, "Ω"));
                figures.Add(new Figure("intended voltage at no current", intendedZero, "V"));
                figures.Add(new Figure("voltage of the circuit at no current", givenZero, "V"));
                bool zeroDiffers = Math.Abs(intendedZero - givenZero) > 0.01 * Math.Abs(run);
                mend ??= zeroDiffers
                    ? $"The zero needs an offset: the intended line has no current at {Engineering.Format(intendedZero, "V")}, the circuit at {Engineering.Format(givenZero, "V")}. "
                        + $"A sense resistor of {Engineering.Format(1 / intendedSlope, "Ω", 5)} returned to {Engineering.Format(intendedZero, "V")} gives both points."
                    : $"A sense resistor of {Engineering.Format(1 / intendedSlope, "Ω", 5)} gives the intended span.";
            }
            else
            {
                figures.Add(new Figure("intended slope", intendedSlope, ""));
                figures.Add(new Figure("slope of the circuit", givenSlope, ""));
                mend ??= context.FarFromSensor(stage, inUnit) ?? $"No single resistor mends it: the slope is {Engineering.Number(givenSlope)} and should be {Engineering.Number(intendedSlope)}, "
                    + $"the zero is {Engineering.Format(givenZero, inUnit)} and should be {Engineering.Format(intendedZero, inUnit)}.";
            }
        }

        return CheckContext.Finding(this, stage.Name.Value, stage.Name.Value, worst, statement, [.. figures], mend, place);
    }

    private static double Allowed(ScalePoint point, double span) => point.To.Tolerance > 0 ? point.To.Tolerance : DefaultFraction * Math.Abs(span);

    /// <summary>
    /// The resistor of the stage whose value has to change least to put every point of the intent right, with that value. A trimmer that can't reach
    /// its target stands at an end; the value named brings it to the middle of its travel instead of leaving it there.
    /// </summary>
    private static string? MendByOnePart(CheckContext context, CircuitStage stage, string outUnit)
    {
        Evaluator evaluator = context.Evaluator;
        double span = stage.Intent.Max(p => p.To.Value) - stage.Intent.Min(p => p.To.Value);
        double least = Math.Log(GreatestChange);
        string? mend = null;
        AdjustmentOutcome[] stuck = [.. evaluator.Adjustment.Where(o => !o.Reached && context.StageOf(o.Step.Turn.Value) == stage.Name.Value)];
        int[] centred = [.. stuck.Select(o => context.Model.TrimmerIndex(o.Step.Turn.Value)).Where(i => i >= 0)];
        string with = centred.Length == 0 ? "" : $" with {string.Join(" and ", centred.Select(i => context.Model.Trimmers[i].Name.Value))} in the middle of its travel";
        double[] asDrawn = Errors(Adjusted(_ => { }));
        if (centred.Length > 0 && stage.Intent.Zip(asDrawn).All(p => Math.Abs(p.Second) <= Allowed(p.First, span)))
        {
            return $"The parts fit{with}: mend step {stuck[0].Step.Name.Value}, which turns it to an end.";
        }

        int worst = Array.IndexOf(asDrawn, asDrawn.MaxBy(Math.Abs));
        ScalePoint target = stage.Intent[worst];
        foreach (Part part in stage.Parts.Where(p => p.Kind == "resistor"))
        {
            Parameter parameter = part.Parameters[0];
            int index = context.Model.Parameters.IndexOf(parameter);
            double nominal = parameter.Quantity.Value;
            double reach = Math.Exp(ClearlyLess * least);
            UnitState? last = null;
            double? found = Secant(x => Error(last = Adjusted(u => u.Values[index] = x), target), asDrawn[worst], nominal, nominal * 1.02, 0.05 * Allowed(target, span), nominal / reach, nominal * reach);
            if (found is { } value && Math.Abs(Math.Log(value / nominal)) is var change && change < ClearlyLess * least
                && stage.Intent.Zip(Errors(last!)).All(p => Math.Abs(p.Second) <= Allowed(p.First, span)))
            {
                least = change;
                mend = $"{part.Name.Value} of {Engineering.Format(value, "Ω")} instead of {Engineering.Format(nominal, "Ω")} gives "
                    + $"{Engineering.Format(target.To.Value, outUnit)} there{with}.";
            }
        }

        return mend;

        UnitState Adjusted(Action<UnitState> change)
        {
            UnitState unit = evaluator.NewState();
            change(unit);
            evaluator.Adjust(unit);
            foreach (int trimmer in centred)
            {
                unit.Positions[trimmer] = 0.5;
            }

            return unit;
        }

        double[] Errors(UnitState unit) => [.. stage.Intent.Select(p => Error(unit, p))];

        double Error(UnitState unit, ScalePoint point)
        {
            UnitState state = unit.Copy();
            return evaluator.OutgoingAt(stage, state, point.From.Value) - point.To.Value;
        }
    }

    /// <summary>Where a function is 0 between two ends; null where that is not found. A second step in a row that leads beyond an end gives up.</summary>
    private static double? Secant(Func<double, double> f, double f0, double x0, double x1, double tolerance, double low, double high)
    {
        double f1 = f(x1);
        for (int i = 0; i < 25; i++)
        {
            if (Math.Abs(f1) <= tolerance)
            {
                return x1;
            }

            double slope = (f1 - f0) / (x1 - x0);
            if (!double.IsFinite(slope) || slope == 0)
            {
                return null;
            }

            double next = Math.Clamp(x1 - (f1 / slope), low, high);
            if (next == x1)
            {
                return null;
            }

            (x0, f0) = (x1, f1);
            x1 = next;
            f1 = f(x1);
        }

        return null;
    }
}
