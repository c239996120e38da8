using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an output passes at its rated load and what would be enough. Worst case: lowest supplies, worst parts, the worse end of the ambient range.</summary>
public sealed record Compliance
{
    /// <summary>Greatest value that the output must have, A or V.</summary>
    public required double Needed { get; init; }

    /// <summary>Greatest controlled value at the load that asks most, A or V, up to half as much again as needed.</summary>
    public required double MostWorst { get; init; }

    public required double MostNominal { get; init; }

    /// <summary>The load up to which what is needed is controlled, Ω: the greatest in a current loop, 0 when not even a short; the least across a voltage, ∞ when not even an open output.</summary>
    public required double LoadWorst { get; init; }

    public required double LoadNominal { get; init; }

    /// <summary>The same for the end of the scale, on the nominal unit, Ω.</summary>
    public required double LoadOfScale { get; init; }

    /// <summary>The supply whose voltage decides; null when none does.</summary>
    public required Parameter? Supply { get; init; }

    /// <summary>Its least voltage at which what is needed is controlled at the load that asks most, V; NaN when three times the stated one is not enough.</summary>
    public required double SupplyNeeded { get; init; }

    /// <summary>Whether what is needed is controlled in the worst case.</summary>
    public required bool IsMet { get; init; }

    /// <summary>The burden at which the worst unit was looked for.</summary>
    internal double Strained { get; init; }

    /// <summary>Finds it; null when nothing drives the output or the loop has no scale.</summary>
    internal static Compliance? Of(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop || context.Evaluator.OutputTransfer is null || context.Evaluator.LoopScale is null)
        {
            return null;
        }

        double needed = context.LoopValues.High;
        double load = loop.Burden.High;
        OutputStage stage = new(context);
        UnitState nominal = context.Evaluator.NewState();
        double bearable = stage.GreatestBurden(nominal, needed);

        // Which unit gives least shows only where something gives out: at the rated load it may be far from that.
        double strained = Math.Max(load, Math.Min(bearable, stage.MostBurden));
        UnitState worst = stage.WorstState(needed, strained);
        double most = stage.Most(worst, load, needed);
        Parameter? supply = stage.DecisiveSupply(worst, needed, strained);
        return new Compliance
        {
            Needed = needed,
            MostWorst = most,
            MostNominal = stage.Most(nominal, load, needed),
            LoadWorst = loop.OhmsOf(stage.GreatestBurden(worst, needed)),
            LoadNominal = loop.OhmsOf(bearable),
            LoadOfScale = loop.OhmsOf(stage.GreatestBurden(nominal, loop.Scale.Max(p => p.To.Value))),
            Supply = supply,
            SupplyNeeded = supply is null ? double.NaN : stage.SupplyNeeded(worst, supply, needed, load),
            Strained = strained,
            IsMet = most >= needed - stage.AllowedLoadEffect,
        };
    }

    /// <summary>What a supply is called beside the loop.</summary>
    public static string NameOf(Parameter supply, Loop loop) => ReferenceEquals(supply, loop.Supply) ? "loop supply" : supply.Owner;
}
