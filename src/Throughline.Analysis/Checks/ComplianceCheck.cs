using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The greatest output is reached at the load that asks most and the lowest supply.</summary>
internal sealed class ComplianceCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => Signal.IsVoltage ? "output drive" : "loop compliance";

    public override string MustHold => Signal.IsVoltage
        ? "The greatest voltage that the output must give (scale, limits, failure, output test) is still controlled across the least load, at lowest supplies and worst parts."
        : "The greatest current that the loop must carry (scale, limits, failure, output test) is still controlled at the greatest load, lowest supplies and worst parts.";

    public override string Formula => Signal.IsVoltage
        ? "The drive is raised until the voltage leaves, by 0.1 % of span, the straight line that the same unit has at small voltages across the same load; load and supply are then varied alike to find what would be enough. "
                + "The corner is that of the saturated stage's exact sensitivities."
        : "The drive is raised until the current leaves, by 0.1 % of span, the straight line that the same unit has into a short at small currents, or until the rail of two wires falls below its lift-off voltage; load and supply are then varied alike to find what would be enough. "
        + "The corner is that of the saturated stage's exact sensitivities.";

    public override string Source => Signal.IsVoltage
        ? "IEC 60381-2 names the load of a voltage signal (from memory of the standard, not seen). The solve replaces a formula."
        : "Load limit R = (V − V_lift-off) / I_max of published transmitter manuals; IEC 60381-1 names the load. The solve replaces the formula.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (context.Compliance is not { } compliance)
        {
            yield break;
        }

        (double needed, double most, double mostNominal) = (compliance.Needed, compliance.MostWorst, compliance.MostNominal);
        (double loadWorst, double loadNominal) = (compliance.LoadWorst, compliance.LoadNominal);
        (Parameter? supply, double enough) = (compliance.Supply, compliance.SupplyNeeded);
        bool met = compliance.IsMet;

        // In a loop what is left is voltage, across a voltage it is current.
        double rated = loop.Burden.High;
        double left = (loop.BurdenOf(loadWorst) - rated) * needed;
        double available = Math.Max(loop.BurdenOf(loadWorst), rated) * needed;
        string leftUnit = Signal.IsVoltage ? "A" : "V";
        string hardest = Signal.IsVoltage ? "least" : "greatest";
        List<Figure> figures =
        [
            Figure($"needed {Signal.Noun}", needed),
            Figure($"greatest controlled {Signal.Noun}, worst case", most),
            Figure($"greatest controlled {Signal.Noun}, nominal", mostNominal),
            new Figure($"{hardest} load, worst case", loadWorst, "Ω"),
            new Figure($"{hardest} load, nominal", loadNominal, "Ω"),
            new Figure("left, worst case", left, leftUnit),
        ];
        double atScale = loop.Scale.Max(p => p.To.Value);
        figures.Add(new Figure("left at the end of the scale, nominal", (loop.BurdenOf(compliance.LoadOfScale) - rated) * atScale, leftUnit));
        if (supply is not null)
        {
            figures.Add(new Figure($"{Compliance.NameOf(supply, loop)} needed", enough, "V"));
        }

        string unreachable = loop.Failure is { } failure && failure.Value > most
            ? $" The failure {Signal.Noun} of {Value(failure.Value)} is unreachable."
            : "";
        string supplyWords = supply is null || double.IsNaN(enough) ? "" : $"{(ReferenceEquals(supply, loop.Supply) ? "a loop supply" : supply.Owner)} of at least {Engineering.Format(enough, "V", 3)}";
        string loadWords = Signal.IsVoltage
            ? double.IsFinite(loadNominal)
                ? $"a load of at least {Engineering.Format(loadWorst, "Ω", 3)} ({Engineering.Format(loadNominal, "Ω", 3)} at stated supplies and parts)"
                : "an amplifier that comes nearer to its supply, for even without a load it is too much"
            : loadNominal > 0
            ? $"a load of at most {Engineering.Format(Math.Floor(loadWorst), "Ω")} ({Engineering.Format(Math.Floor(loadNominal), "Ω")} at stated supplies and parts)"
            : "a smaller sense resistor, for even a short is too much";
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            met ? Math.Max(0, left / Math.Max(available, 1e-9) * 2) : Math.Min(-0.01, (most / needed) - 1),
            met
                ? Signal.IsVoltage
                    ? $"{Engineering.Format(left, "A", 2)} left at {Value(needed, 3)} across {Engineering.Format(loop.HardLoad, "Ω")}; it would still do it across {Engineering.Format(loadWorst, "Ω", 3)}."
                    : $"{Engineering.Format(left, "V", 2)} left at {Value(needed, 3)} through {Engineering.Format(loop.HardLoad, "Ω")}."
                : $"{(Signal.IsVoltage ? "Across" : "Through")} {Engineering.Format(loop.HardLoad, "Ω")} it {(Signal.IsVoltage ? "gives" : "passes")} at most {Value(most, 3)} ({Value(mostNominal, 3)} at stated supplies and parts); "
                    + $"{Value(needed, 3)} is needed.{unreachable}",
            [.. figures],
            supplyWords.Length > 0 ? $"{Capital(supplyWords)}, or {loadWords}." : $"{Capital(loadWords)}.",
            loop.Load.Span.IsNowhere ? loop.Span : loop.Load.Span);
    }

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
