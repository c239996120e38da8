using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop's greatest current flows through the greatest load at the lowest supply.</summary>
internal sealed class ComplianceCheck : Check
{
    /// <summary>A current further from the stage's own straight line than this part of the loop's span is no longer controlled.</summary>
    private const double LoadEffect = 1e-3;

    public override string Name => "loop compliance";

    public override string MustHold => "The greatest current that the loop must carry (scale, limits, failure, output test) is still controlled at the greatest load, lowest supplies and worst parts.";

    public override string Formula => "The drive is raised until the current leaves, by 0.1 % of span, the straight line that the same unit has into a short at small currents; load and supply are then varied alike to find what would be enough. "
        + "The corner is that of the saturated stage's exact sensitivities.";

    public override string Source => "Load limit R = (V − V_lift-off) / I_max of published transmitter manuals; IEC 60381-1 names the load. The solve replaces the formula.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop || context.Evaluator.OutputTransfer is null || context.Evaluator.LoopScale is null)
        {
            yield break;
        }

        double needed = context.LoopCurrents.High;
        Stage stage = new(context);
        UnitState worst = stage.WorstState(needed, loop.Load.High);
        UnitState nominal = context.Evaluator.NewState();
        double most = stage.Most(worst, loop.Load.High, needed);
        double mostNominal = stage.Most(nominal, loop.Load.High, needed);
        double loadWorst = stage.GreatestLoad(worst, needed);
        double loadNominal = stage.GreatestLoad(nominal, needed);
        Parameter? supply = stage.DecisiveSupply(worst, needed, loop.Load.High);
        double enough = supply is null ? double.NaN : stage.SupplyNeeded(worst, supply, needed, loop.Load.High);
        bool met = most >= needed - (LoadEffect * context.LoopSpan);
        double left = (loadWorst - loop.Load.High) * needed;
        double available = Math.Max(loadWorst, loop.Load.High) * needed;
        List<Figure> figures =
        [
            new Figure("needed current", needed, "A"),
            new Figure("greatest controlled current, worst case", most, "A"),
            new Figure("greatest controlled current, nominal", mostNominal, "A"),
            new Figure("greatest load, worst case", loadWorst, "Ω"),
            new Figure("greatest load, nominal", loadNominal, "Ω"),
            new Figure("left, worst case", left, "V"),
        ];
        double atScale = loop.Scale.Max(p => p.To.Value);
        figures.Add(new Figure("left at the end of the scale, nominal", (stage.GreatestLoad(nominal, atScale) - loop.Load.High) * atScale, "V"));
        if (supply is not null)
        {
            figures.Add(new Figure($"{(ReferenceEquals(supply, loop.Supply) ? "loop supply" : supply.Owner)} needed", enough, "V"));
        }

        string unreachable = loop.Failure is { } failure && failure.Value > most
            ? $" The failure current of {Engineering.Format(failure.Value, "A")} is unreachable."
            : "";
        string supplyWords = supply is null || double.IsNaN(enough) ? "" : $"{(ReferenceEquals(supply, loop.Supply) ? "a loop supply" : supply.Owner)} of at least {Engineering.Format(enough, "V", 3)}";
        string loadWords = loadNominal > 0
            ? $"a load of at most {Engineering.Format(Math.Floor(loadWorst), "Ω")} ({Engineering.Format(Math.Floor(loadNominal), "Ω")} at stated supplies and parts)"
            : "a smaller sense resistor, for even a short is too much";
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            met ? Math.Max(0, left / Math.Max(available, 1e-9) * 2) : Math.Min(-0.01, (most / needed) - 1),
            met
                ? $"{Engineering.Format(left, "V", 2)} left at {Engineering.Format(needed, "A", 3)} through {Engineering.Format(loop.Load.High, "Ω")}."
                : $"Through {Engineering.Format(loop.Load.High, "Ω")} it passes at most {Engineering.Format(most, "A", 3)} ({Engineering.Format(mostNominal, "A", 3)} at stated supplies and parts); "
                    + $"{Engineering.Format(needed, "A", 3)} is needed.{unreachable}",
            [.. figures],
            supplyWords.Length > 0 ? $"{Capital(supplyWords)}, or {loadWords}." : $"{Capital(loadWords)}.",
            loop.Load.Span.IsNowhere ? loop.Span : loop.Load.Span);
    }

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    /// <summary>The output stage, driven.</summary>
    private sealed class Stage(CheckContext context)
    {
        private const int MostSteps = 30;

        private readonly bool _bench = context.Model.OutputConverter is null;

        private NetworkRun Run => _bench ? context.Evaluator.Bench : context.Evaluator.Field;

        /// <summary>The unit that passes least when it is driven far beyond what is needed.</summary>
        public UnitState WorstState(double needed, double load)
        {
            Scenario hard = new(
                "driven beyond",
                s =>
                {
                    s.LoadOhms = load;
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

            double low = context.LoopCurrents.Low;
            if (Excess(unit, low, load, linear) > 0)
            {
                // An amplifier that does not come down to a small current may still pass a great one.
                low = Excess(unit, needed, load, linear) <= 0 ? needed : 0;
            }

            double found = Search(low, top, i => Excess(unit, i, load, linear));
            return Current(unit, found, load);
        }

        /// <summary>The greatest load that still leaves a current controlled, Ω; 0 when not even a short does.</summary>
        public double GreatestLoad(UnitState unit, double amperes)
        {
            const double Least = 1e-3;
            const double Most = 100e3;
            (double, double) linear = LinearOf(unit);
            if (Excess(unit, amperes, Least, linear) > 0)
            {
                return 0;
            }

            double good = Least;
            double bad = Math.Max(context.Instrument.Loop!.Load.High, 100);
            while (Excess(unit, amperes, bad, linear) <= 0)
            {
                (good, bad) = (bad, 2 * bad);
                if (bad > Most)
                {
                    return Most;
                }
            }

            return Search(good, bad, r => Excess(unit, amperes, r, linear));
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

            // Down from three times the stated voltage; half of it is never enough where it was not before.
            double good = 3 * nominal;
            double bad = nominal / 2;
            return Missing(good) > 0 ? double.NaN : Missing(bad) <= 0 ? bad : Search(good, bad, Missing);
        }

        /// <summary>By how much the current leaves the unit's own straight line beyond what is allowed, A; 0 or less while it is controlled.</summary>
        private double Excess(UnitState unit, double amperes, double load, (double Zero, double Slope) linear)
        {
            double expected = linear.Zero + (linear.Slope * amperes);
            double excess = Math.Abs(Current(unit, amperes, load) - expected) - (LoadEffect * context.LoopSpan);
            return double.IsNaN(excess) ? 1 : excess;
        }

        private double Current(UnitState unit, double amperes, double load, bool limited = true)
        {
            UnitState state = Copy(unit);
            state.LoadOhms = load;
            Drive(state, amperes);
            return Run.Solve(state, limited, fromLast: true).Status == SolveStatus.Solved ? context.Evaluator.LoopAmperes(Run) : double.NaN;
        }

        /// <summary>
        /// What this unit would give at any drive if nothing saturated: a straight line from two small currents into a short, amplifiers without limits
        /// so that one which does not come down to them is not taken for one that does not come up.
        /// </summary>
        private (double Zero, double Slope) LinearOf(UnitState unit)
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
        private void Drive(UnitState state, double amperes)
        {
            double drive = context.Evaluator.OutputTransfer!.Inverse(amperes);
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
        private static double Search(double good, double bad, Func<double, double> excess)
        {
            double atGood = excess(good);
            double atBad = excess(bad);
            int side = 0;
            for (int i = 0; i < MostSteps && Math.Abs(bad - good) > 1e-6 * Math.Max(Math.Abs(good), Math.Abs(bad)); i++)
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
}
