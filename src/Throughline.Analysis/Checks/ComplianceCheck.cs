using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop's greatest current flows through the greatest load at the lowest supply.</summary>
internal sealed class ComplianceCheck : Check
{
    public override string Name => "loop compliance";

    public override string MustHold => "The greatest current that the loop must carry (scale, limits, failure, output test) is still controlled at the greatest load, lowest supplies and worst parts.";

    public override string Formula => "The drive is raised until the current leaves, by 0.1 % of span, the straight line that the same unit has into a short at small currents; load and supply are then varied alike to find what would be enough. "
        + "The corner is that of the saturated stage's exact sensitivities.";

    public override string Source => "Load limit R = (V − V_lift-off) / I_max of published transmitter manuals; IEC 60381-1 names the load. The solve replaces the formula.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop || context.Compliance is not { } compliance)
        {
            yield break;
        }

        (double needed, double most, double mostNominal) = (compliance.Needed, compliance.MostWorst, compliance.MostNominal);
        (double loadWorst, double loadNominal) = (compliance.LoadWorst, compliance.LoadNominal);
        (Parameter? supply, double enough) = (compliance.Supply, compliance.SupplyNeeded);
        bool met = compliance.IsMet;
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
        figures.Add(new Figure("left at the end of the scale, nominal", (compliance.LoadOfScale - loop.Load.High) * atScale, "V"));
        if (supply is not null)
        {
            figures.Add(new Figure($"{Compliance.NameOf(supply, loop)} needed", enough, "V"));
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
}
