using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The output stage, driven to find what it can give: current or voltage, load and supply at which it still controls. Loads are burdens, see <see cref="Loop.Burden"/>.</summary>
internal sealed class OutputStage(CheckContext context)
{
    /// <summary>What is further from the stage's own straight line than this part of the span is no longer controlled.</summary>
    private const double LoadEffect = 1e-3;

    private const int MostSteps = 60;

    /// <summary>Supplies that move the saturated stage by less than this part of the span per volt do not decide.</summary>
    private const double LeastSupplyEffect = 6.25e-6;

    /// <summary>So that a short has a current too, Ω.</summary>
    private const double LeastOhms = 100;

    private readonly bool _bench = context.Model.OutputConverter is null;
    private readonly Supply? _rail = context.Instrument.Loop is { Supply: not null } ? context.Instrument.LoopRail : null;

    private Loop Loop => context.Instrument.Loop!;

    /// <summary>A burden beyond which nobody asks: 100 kΩ in a loop, a tenth of a siemens across a voltage.</summary>
    public double MostBurden => Loop.Signal.IsVoltage ? 0.1 : 100e3;

    /// <summary>As good as none: a short in a loop, a voltage left open.</summary>
    private double LeastBurden => Loop.Signal.IsVoltage ? 1e-9 : 1e-3;

    /// <summary>How far the output may leave the unit's own straight line while it counts as controlled, A or V.</summary>
    public double AllowedLoadEffect => LoadEffect * context.LoopSpan;

    /// <summary>The network that it is driven in.</summary>
    public NetworkRun Run => _bench ? context.Evaluator.Bench : context.Evaluator.Field;

    /// <summary>The unit that gives least when it is driven far beyond what is needed.</summary>
    /// <param name="ambient">Ambient temperature, °C; null for the worse of the rated ends.</param>
    public UnitState WorstState(double needed, double load, double? ambient = null)
    {
        Scenario hard = new(
            "driven beyond",
            s =>
            {
                s.Burden = load;
                s.AmbientCelsius = ambient ?? s.AmbientCelsius;
                Drive(s, 1.5 * needed);
            },
            _bench);
        Reading reading = new(Run.Bound.Output!.Value);
        return context.Extremes.Find(reading, [hard], limited: true).AtLow;
    }

    /// <summary>The greatest controlled output up to half as much again as needed, A or V.</summary>
    public double Most(UnitState unit, double load, double needed)
    {
        double top = 1.5 * needed;
        (double, double) linear = LinearOf(unit, load);
        if (Excess(unit, top, load, linear) <= 0)
        {
            return Value(unit, top, load);
        }

        double low = context.LoopValues.Low;
        if (Excess(unit, low, load, linear) > 0)
        {
            // An amplifier that does not come down to a small current may still pass a great one.
            low = Excess(unit, needed, load, linear) <= 0 ? needed : 0;
        }

        double found = Search(low, top, i => Excess(unit, i, load, linear));
        return Value(unit, found, load);
    }

    /// <summary>The greatest burden that still leaves a value controlled; 0 when not even the least does.</summary>
    public double GreatestBurden(UnitState unit, double value) => GreatestBurden(unit, value, LinearOf(unit, LeastBurden));

    /// <summary>The same with the straight line of the unit without a load already known.</summary>
    public double GreatestBurden(UnitState unit, double value, (double, double) unloaded)
    {
        if (Missing(LeastBurden) > 0)
        {
            return 0;
        }

        const double FirstOhms = 100;
        const double FirstSiemens = 1e-6;
        double good = LeastBurden;
        double bad = Math.Max(Loop.Burden.High, Loop.Signal.IsVoltage ? FirstSiemens : FirstOhms);
        while (Missing(bad) <= 0)
        {
            (good, bad) = (bad, 2 * bad);
            if (bad > MostBurden)
            {
                return MostBurden;
            }
        }

        return Search(good, bad, Missing);

        // What a load takes of a voltage through the stage's own resistance is no loss of control: there the line is that at the load.
        double Missing(double burden) => Excess(unit, value, burden, Loop.Signal.IsVoltage ? LinearOf(unit, burden) : unloaded);
    }

    /// <summary>The supply whose voltage moves the output of the saturated stage most; null when none does.</summary>
    public Parameter? DecisiveSupply(UnitState unit, double needed, double load)
    {
        UnitState state = unit.Copy();
        state.Burden = load;
        Drive(state, 1.5 * needed);
        if (Run.Solve(state, limited: true).Status != SolveStatus.Solved)
        {
            return null;
        }

        Gradient gradient = new(context.Model.Parameters.Count, context.Model.Trimmers.Length);
        Run.Differentiate(new Reading(Run.Bound.Output!.Value), state, gradient);
        IEnumerable<Parameter> supplies = context.Instrument.Supplies.Select(s => s.Voltage);
        if (Loop.Supply is { } loop)
        {
            supplies = supplies.Append(loop);
        }

        Parameter? best = supplies.MaxBy(p => Math.Abs(gradient.Values[context.Model.Parameters.IndexOf(p)]));
        return best is not null && Math.Abs(gradient.Values[context.Model.Parameters.IndexOf(best)]) > LeastSupplyEffect * context.LoopSpan ? best : null;
    }

    /// <summary>The least voltage of a supply at which what is needed is controlled, V; NaN when three times its value is not enough.</summary>
    public double SupplyNeeded(UnitState unit, Parameter supply, double needed, double load)
    {
        int index = context.Model.Parameters.IndexOf(supply);
        double nominal = supply.Quantity.Value;
        UnitState state = unit.Copy();
        double Missing(double volts)
        {
            state.Values[index] = volts;
            state.Drifts[index] = 0;
            return Excess(state, needed, load, LinearOf(state, load));
        }

        // Down from three times the stated voltage, step by step: far below, a stage that gives nothing at all looks as straight as one that controls.
        double good = 3 * nominal;
        if (Missing(good) > 0)
        {
            return double.NaN;
        }

        while (Math.Abs(good) > Math.Abs(nominal) / 20)
        {
            double bad = 0.8 * good;
            if (Missing(bad) > 0)
            {
                return Search(good, bad, Missing);
            }

            good = bad;
        }

        return good;
    }

    /// <summary>By how much the output leaves the unit's own straight line beyond what is allowed, or the rail of an instrument on two wires falls short of its lift-off voltage, A or V; 0 or less while it is controlled.</summary>
    public double Excess(UnitState unit, double value, double load, (double Zero, double Slope) linear)
    {
        double expected = linear.Zero + (linear.Slope * value);
        double excess = Math.Abs(Value(unit, value, load) - expected) - AllowedLoadEffect;
        return double.IsNaN(excess) ? 1 : _rail is null ? excess : Math.Max(excess, Short(_rail, load));
    }

    /// <summary>What the rail of two wires lacks at the point last solved, as the current that would take it away in the load: less than its lift-off voltage promises nothing, even where the drawn circuit still works.</summary>
    private double Short(Supply rail, double load) => (rail.Voltage.Quantity.Value - Evaluator.Volts(Run, rail.Name.Value, rail.Return.Value)) / Math.Max(load, LeastOhms);

    /// <summary>What the receiver gets at a drive and a load, A or V.</summary>
    public double Value(UnitState unit, double value, double load, bool limited = true)
    {
        UnitState state = unit.Copy();
        state.Burden = load;
        Drive(state, value);
        return Run.Solve(state, limited, fromLast: true).Status == SolveStatus.Solved ? Evaluator.LoopValue(Run) : double.NaN;
    }

    /// <summary>
    /// What this unit would give at any drive if nothing saturated: a straight line from two small values, amplifiers without limits so that one which does not come down to them is not
    /// taken for one that does not come up. A current into a short, whatever the load; a voltage across the load.
    /// </summary>
    public (double Zero, double Slope) LinearOf(UnitState unit, double load)
    {
        bool isVoltage = Loop.Signal.IsVoltage;
        double reach = Loop.Scale.Max(p => Math.Abs(p.To.Value));
        (double low, double high) = isVoltage ? (0.2 * reach, 0.4 * reach) : (4e-3, 8e-3);
        double at = isVoltage ? load : LeastBurden;
        double a = Value(unit, low, at, limited: false);
        double b = Value(unit, high, at, limited: false);
        double slope = (b - a) / (high - low);
        return (a - (slope * low), slope);
    }

    /// <summary>Sets the drive without rounding to a code and without the converter's end: what the stage could do is asked here.</summary>
    public void Drive(UnitState state, double value)
    {
        double drive = context.Evaluator.OutputTransfer!.Inverse(value);
        if (_bench)
        {
            state.SimulatedSignal = drive;
        }
        else
        {
            state.DriveVolts = drive;
        }
    }

    /// <summary>
    /// Where a function passes from 0 or less at a good end to more at a bad one. Far on the good side it is level and tells nothing: there the straight line through the last two bad points
    /// says where it passes, nearer by the one through both ends. A step that has neither halved what is left nor come near is followed by one that halves.
    /// </summary>
    /// <param name="tolerance">How far apart the ends may be in the end, as a part of the greater.</param>
    /// <returns>The good end.</returns>
    public static double Search(double good, double bad, Func<double, double> excess, double tolerance = 1e-6)
    {
        double atBad = excess(bad);
        double atGood = double.NaN;
        double level = 0;
        (double X, double At)? before = null;
        bool halves = true;
        for (int i = 0; i < MostSteps; i++)
        {
            double width = bad - good;
            double least = 0.4 * tolerance * Math.Max(Math.Abs(good), Math.Abs(bad));
            if (Math.Abs(width) <= 2.5 * least)
            {
                break;
            }

            double share = halves ? 0.5
                : atGood > 0.5 * level ? atGood / (atGood - atBad)
                : before is { } b ? (bad - (atBad * (bad - b.X) / (atBad - b.At)) - good) / width
                : 0.5;
            double nearest = Math.Min(0.5, least / Math.Abs(width));
            double x = good + ((double.IsNaN(share) ? 0.5 : Math.Clamp(share, nearest, 1 - nearest)) * width);
            double at = excess(x);
            if (at <= 0)
            {
                // The line through the bad points would lead here again.
                (good, atGood, before) = (x, at, null);
                level = Math.Min(level, at);
            }
            else
            {
                before = (bad, atBad);
                (bad, atBad) = (x, at);
            }

            bool isNear = at > 0 && before is { } last && at < 0.1 * last.At;
            halves = !isNear && Math.Abs(bad - good) > 0.5 * Math.Abs(width);
        }

        return good;
    }
}
