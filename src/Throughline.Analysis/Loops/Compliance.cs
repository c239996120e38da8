using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an output passes at its rated load and what would be enough. Worst case: lowest supplies, worst parts, the worse end of the ambient range.</summary>
public sealed record Compliance
{
    /// <summary>Greatest current that the loop must carry, A.</summary>
    public required double Needed { get; init; }

    /// <summary>Greatest controlled current through the greatest load, A, up to half as much again as needed.</summary>
    public required double MostWorst { get; init; }

    public required double MostNominal { get; init; }

    /// <summary>Greatest load through which the needed current is controlled, Ω; 0 when not even a short is.</summary>
    public required double LoadWorst { get; init; }

    public required double LoadNominal { get; init; }

    /// <summary>The same for the end of the scale, on the nominal unit, Ω.</summary>
    public required double LoadOfScale { get; init; }

    /// <summary>The supply whose voltage decides; null when none does.</summary>
    public required Parameter? Supply { get; init; }

    /// <summary>Its least voltage at which the needed current is controlled at the greatest load, V; NaN when three times the stated one is not enough.</summary>
    public required double SupplyNeeded { get; init; }

    /// <summary>Whether the needed current is controlled in the worst case.</summary>
    public required bool IsMet { get; init; }

    /// <summary>The load at which the worst unit was looked for, Ω.</summary>
    internal double StrainedLoad { get; init; }

    /// <summary>Finds it; null when nothing drives the output or the loop has no scale.</summary>
    internal static Compliance? Of(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop || context.Evaluator.OutputTransfer is null || context.Evaluator.LoopScale is null)
        {
            return null;
        }

        double needed = context.LoopValues.High;
        double load = loop.Load.High;
        OutputStage stage = new(context);
        UnitState nominal = context.Evaluator.NewState();
        double nominalLoad = stage.GreatestLoad(nominal, needed);

        // Which unit passes least shows only where something gives out: at the rated load it may be far from that.
        double strained = Math.Max(load, Math.Min(nominalLoad, OutputStage.MostOhms));
        UnitState worst = stage.WorstState(needed, strained);
        double most = stage.Most(worst, load, needed);
        Parameter? supply = stage.DecisiveSupply(worst, needed, strained);
        return new Compliance
        {
            Needed = needed,
            MostWorst = most,
            MostNominal = stage.Most(nominal, load, needed),
            LoadWorst = stage.GreatestLoad(worst, needed),
            LoadNominal = nominalLoad,
            LoadOfScale = stage.GreatestLoad(nominal, loop.Scale.Max(p => p.To.Value)),
            Supply = supply,
            SupplyNeeded = supply is null ? double.NaN : stage.SupplyNeeded(worst, supply, needed, load),
            StrainedLoad = strained,
            IsMet = most >= needed - stage.AllowedLoadEffect,
        };
    }

    /// <summary>What a supply is called beside the loop.</summary>
    public static string NameOf(Parameter supply, Loop loop) => ReferenceEquals(supply, loop.Supply) ? "loop supply" : supply.Owner;
}
