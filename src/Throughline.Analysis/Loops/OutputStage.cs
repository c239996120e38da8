using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The output stage, driven to find what it can pass: current, load and supply at which it still controls.</summary>
internal sealed class OutputStage(CheckContext context)
{
    /// <summary>A current further from the stage's own straight line than this part of the loop's span is no longer controlled.</summary>
    private const double LoadEffect = 1e-3;

    private const int MostSteps = 30;

    /// <summary>A load beyond which nobody asks, Ω.</summary>
    public const double MostOhms = 100e3;

    private readonly bool _bench = context.Model.OutputConverter is null;

    /// <summary>How far a current may leave the unit's own straight line while it counts as controlled, A.</summary>
    public double AllowedLoadEffect => LoadEffect * context.LoopSpan;

    /// <summary>The network that it is driven in.</summary>
    public NetworkRun Run => _bench ? context.Evaluator.Bench : context.Evaluator.Field;

    /// <summary>The unit that passes least when it is driven far beyond what is needed.</summary>
    /// <param name="ambient">Ambient temperature, °C; null for the worse of the rated ends.</param>
    public UnitState WorstState(double needed, double load, double? ambient = null)
    {
        Scenario hard = new(
            "driven beyond",
            s =>
            {
                s.LoadOhms = load;
                s.AmbientCelsius = ambient ?? s.AmbientCelsius;
                Drive(s, 1.5 * needed);
            },
            _bench);
        Reading reading = new(Evaluator.LoopProbe(Run.Bound));
        return context.Extremes.Find(reading, [hard], limited: true).AtLow;
    }

    /// <summary>The greatest controlled current up to half as much again as needed, A.</summary>
    public double Most(UnitState unit, double load, double needed)
    {
        double top = 1.5 * needed;
        (double, double) linear = LinearOf(unit);
        if (Excess(unit, top, load, linear) <= 0)
        {
            return Current(unit, top, load);
        }

        double low = context.LoopValues.Low;
        if (Excess(unit, low, load, linear) > 0)
        {
            // An amplifier that does not come down to a small current may still pass a great one.
            low = Excess(unit, needed, load, linear) <= 0 ? needed : 0;
        }

        double found = Search(low, top, i => Excess(unit, i, load, linear));
        return Current(unit, found, load);
    }

    /// <summary>The greatest load that still leaves a current controlled, Ω; 0 when not even a short does.</summary>
    public double GreatestLoad(UnitState unit, double value)
    {
        return GreatestLoad(unit, value, LinearOf(unit));
    }

    /// <summary>The same with the unit's straight line already known.</summary>
    public double GreatestLoad(UnitState unit, double value, (double, double) linear)
    {
        const double Least = 1e-3;
        if (Excess(unit, value, Least, linear) > 0)
        {
            return 0;
        }

        double good = Least;
        double bad = Math.Max(context.Instrument.Loop!.Load.High, 100);
        while (Excess(unit, value, bad, linear) <= 0)
        {
            (good, bad) = (bad, 2 * bad);
            if (bad > MostOhms)
            {
                return MostOhms;
            }
        }

        return Search(good, bad, r => Excess(unit, value, r, linear));
    }

    /// <summary>The supply whose voltage moves the current of the saturated stage most; null when none does.</summary>
    public Parameter? DecisiveSupply(UnitState unit, double needed, double load)
    {
        UnitState state = Copy(unit);
        state.LoadOhms = load;
        Drive(state, 1.5 * needed);
        if (Run.Solve(state, limited: true).Status != SolveStatus.Solved)
        {
            return null;
        }

        Gradient gradient = new(context.Model.Parameters.Count, context.Model.Trimmers.Length);
        Run.Differentiate(new Reading(Evaluator.LoopProbe(Run.Bound)), state, gradient);
        IEnumerable<Parameter> supplies = context.Instrument.Supplies.Select(s => s.Voltage);
        if (context.Instrument.Loop!.Supply is { } loop)
        {
            supplies = supplies.Append(loop);
        }

        Parameter? best = supplies.MaxBy(p => Math.Abs(gradient.Values[context.Model.Parameters.IndexOf(p)]));
        return best is not null && Math.Abs(gradient.Values[context.Model.Parameters.IndexOf(best)]) > 1e-7 ? best : null;
    }

    /// <summary>The least voltage of a supply at which the needed current is controlled, V; NaN when three times its value is not enough.</summary>
    public double SupplyNeeded(UnitState unit, Parameter supply, double needed, double load)
    {
        int index = context.Model.Parameters.IndexOf(supply);
        double nominal = supply.Quantity.Value;
        UnitState state = Copy(unit);
        double Missing(double volts)
        {
            state.Values[index] = volts;
            state.Drifts[index] = 0;
            return Excess(state, needed, load, LinearOf(state));
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

    /// <summary>By how much the current leaves the unit's own straight line beyond what is allowed, A; 0 or less while it is controlled.</summary>
    public double Excess(UnitState unit, double value, double load, (double Zero, double Slope) linear)
    {
        double expected = linear.Zero + (linear.Slope * value);
        double excess = Math.Abs(Current(unit, value, load) - expected) - AllowedLoadEffect;
        return double.IsNaN(excess) ? 1 : excess;
    }

    public double Current(UnitState unit, double value, double load, bool limited = true)
    {
        UnitState state = Copy(unit);
        state.LoadOhms = load;
        Drive(state, value);
        return Run.Solve(state, limited, fromLast: true).Status == SolveStatus.Solved ? context.Evaluator.LoopValue(Run) : double.NaN;
    }

    /// <summary>
    /// What this unit would give at any drive if nothing saturated: a straight line from two small currents into a short, amplifiers without limits
    /// so that one which does not come down to them is not taken for one that does not come up.
    /// </summary>
    public (double Zero, double Slope) LinearOf(UnitState unit)
    {
        const double A = 4e-3;
        const double B = 8e-3;
        const double Short = 1e-3;
        double a = Current(unit, A, Short, limited: false);
        double b = Current(unit, B, Short, limited: false);
        double slope = (b - a) / (B - A);
        return (a - (slope * A), slope);
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

    private UnitState Copy(UnitState unit)
    {
        UnitState state = context.Evaluator.NewState();
        state.CopyFrom(unit);
        return state;
    }

    /// <summary>Where a function passes from 0 or less at a good end to more at a bad one. Beyond the passage it is nearly straight, which regula
    /// falsi with halved ends (the Illinois rule) uses: a third of the solves of halving.</summary>
    public static double Search(double good, double bad, Func<double, double> excess, double tolerance = 1e-6)
    {
        double atGood = excess(good);
        double atBad = excess(bad);
        int side = 0;
        for (int i = 0; i < MostSteps && Math.Abs(bad - good) > tolerance * Math.Max(Math.Abs(good), Math.Abs(bad)); i++)
        {
            double share = atGood / (atGood - atBad);
            double x = good + (Math.Clamp(share, 0.02, 0.98) * (bad - good));
            double at = excess(x);
            if (at <= 0)
            {
                (good, atGood) = (x, at);
                atBad = side == 1 ? atBad / 2 : atBad;
                side = 1;
            }
            else
            {
                (bad, atBad) = (x, at);
                atGood = side == -1 ? atGood / 2 : atGood;
                side = -1;
            }
        }

        return good;
    }
}
