using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Every supply has the voltage at its input that it needs.</summary>
internal sealed class SupplyHeadroomCheck : RailCheck
{
    /// <summary>A current that is none, A.</summary>
    private const double Nothing = 1e-9;

    public override string Name => "supply headroom";

    public override string MustHold => "Every supply has at its input what it needs: a regulator its output and its dropout, a converter a voltage of its input range, a shunt regulator more current than its rail takes and no more than it can take away, all with tolerances.";

    public override string Formula => "Least |V_in| − |V_out| − dropout over all conditions, the tolerances of the output and of an input that another supply makes taken off; or the input's distance from the ends of its range; or (V_in − V_out) / R less the rail's current, against the least and the greatest that a shunt regulator is stated to need and to take.";

    public override string Source => "Definition of the dropout voltage in data sheets; Franco, Design with Operational Amplifiers and Analog Integrated Circuits, ex. 11.3 (shunt regulation).";

    protected override IEnumerable<Finding> Of(CheckContext context, RailWorst rail)
    {
        if (rail.Supply.IsShunt)
        {
            yield return OfShunt(rail);
            yield break;
        }

        (string name, Supply supply) = (rail.Supply.Name.Value, rail.Supply);
        if (supply.Dropout is { } dropout)
        {
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                rail.Headroom >= 0 ? rail.Headroom / Math.Max(rail.Headroom, dropout.High) : rail.Headroom / dropout.High,
                $"{name} has {Engineering.Format(rail.Headroom, "V", 3)} more than it needs ({rail.HeadroomAt}).",
                [new Figure("left above the dropout", rail.Headroom, "V"), new Figure("dropout", dropout.High, "V"), new Figure("lowest input", rail.InputLow, "V")],
                $"Raise the input of {name}, or choose a regulator with a dropout below {Engineering.Format(Math.Max(0, dropout.High + rail.Headroom), "V", 2)}.",
                dropout.Span);
        }
        else if (supply.Input is { } input && !double.IsNaN(rail.InputLow))
        {
            double left = Math.Min(rail.InputLow - input.Low, input.High - rail.InputHigh);
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                left / (input.Width / 2),
                $"The input of {name} goes from {Engineering.Format(rail.InputLow, "V", 3)} to {Engineering.Format(rail.InputHigh, "V", 3)}; it works from {Engineering.Format(input.Low, "V", 3)} to {Engineering.Format(input.High, "V", 3)}.",
                [new Figure("lowest input", rail.InputLow, "V"), new Figure("highest input", rail.InputHigh, "V"), new Figure("left", left, "V")],
                $"Choose a converter whose input range holds what feeds {name}.",
                input.Span);
        }
    }

    /// <summary>Too little left for it, and the rail falls; too much, and it gets too warm.</summary>
    private Finding OfShunt(RailWorst rail)
    {
        (string name, Supply supply) = (rail.Supply.Name.Value, rail.Supply);
        double least = supply.LeastShunt?.Value ?? 0;
        double room = rail.ShuntLow - least;
        double margin = room / Math.Max(Math.Abs(rail.ShuntLow), Math.Max(rail.Amperes, least));
        if (room < Nothing)
        {
            // A rail that takes all there is sags, and leaves exactly nothing.
            margin = Math.Min(margin, -0.01);
        }

        bool isTooMuch = false;
        if (supply.GreatestShunt is { } greatest && 1 - (rail.ShuntHigh / greatest.Value) is var left && !(left >= margin))
        {
            (margin, isTooMuch) = (left, true);
        }

        return CheckContext.Finding(
            this,
            name,
            "supplies",
            margin,
            $"{name} has between {Engineering.Format(rail.ShuntLow, "A", 3)} ({rail.ShuntLowAt}) and {Engineering.Format(rail.ShuntHigh, "A", 3)} to take away"
                + $"{(supply.LeastShunt is null ? "" : $"; it needs {Engineering.Format(least, "A", 3)}")}{(supply.GreatestShunt is { } most ? $", and takes at most {Engineering.Format(most.Value, "A", 3)}" : "")}.",
            [
                new Figure("least left for it", rail.ShuntLow, "A"),
                new Figure("needed", least, "A"),
                new Figure("most to take away", rail.ShuntHigh, "A"),
                new Figure("rail takes", rail.Amperes, "A"),
            ],
            isTooMuch ? $"Feed {name} less, or choose a regulator that takes {Engineering.Format(rail.ShuntHigh, "A", 2)} away." : $"Feed {name} {Engineering.Format(Math.Abs(room), "A", 2)} more, or take load off it.",
            supply.Feed?.Span ?? supply.Span);
    }
}
