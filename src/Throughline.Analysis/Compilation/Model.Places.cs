using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>Where things belong.</content>
public sealed partial class Model
{
    /// <summary>The stage that an owner of parameters belongs to: that of a part, the stage itself, <c>sensor</c>, <c>loop</c> or <c>supplies</c>.</summary>
    internal string PlaceOf(string owner)
    {
        foreach (CircuitStage stage in CircuitStages)
        {
            if (stage.Parts.Any(p => p.Name.Value == owner || p.Parameters.Any(q => q.Owner == owner)))
            {
                return stage.Name.Value;
            }
        }

        return Instrument.Supplies.Any(s => s.Name.Value == owner) ? "supplies" : owner;
    }

    /// <summary>What comes from outside the unit, voltages and the cable of a voltage output: it moves after the adjustment too, and the bench holds it at its nominal value.</summary>
    internal IEnumerable<Parameter> OutsideSupplies()
    {
        foreach (Supply supply in Instrument.Supplies.Where(s => s.Kind is SupplyKind.Dc or SupplyKind.Battery))
        {
            yield return supply.Voltage;
        }

        if (Instrument.Loop?.Supply is { } loop)
        {
            yield return loop;
        }

        if (Instrument.Loop?.SeriesResistance is { } cable)
        {
            yield return cable;
        }
    }
}
