using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Each amplifier stands on a supply that its maker allows.</summary>
internal sealed class AmplifierSupplyCheck : Check
{
    public override string Name => "amplifier supply within its rating";

    public override string MustHold => "Whatever the supplies' tolerances, the voltage between the supply pins of each amplifier stays inside the range that its grade states.";

    public override string Formula => "Worst case of positive − negative supply at both ends of the measuring range; margin: room to the nearer end, of half the range.";

    public override string Source => "Common practice, no source: figures hold, and the part lives, inside the data sheet's supply range only.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        BoundNetwork network = context.Model.Field;
        foreach (Part part in context.Model.Parts)
        {
            (string Positive, string Negative, QuantityRange Range)? rated = part switch
            {
                OpAmp { SupplyRange: { } range } a => (a.PositiveSupply.Value, a.NegativeSupply.Value, range),
                InstrumentationAmplifier { SupplyRange: { } range } a => (a.PositiveSupply.Value, a.NegativeSupply.Value, range),
                _ => null,
            };
            if (rated is not { } pins || network.Find(pins.Positive) is not { } positive || network.Find(pins.Negative) is not { } negative)
            {
                continue;
            }

            Extreme volts = context.Extremes.Find(new Reading(Probe.Voltage(positive, negative)), context.RangeEnds, limited: false);
            string name = part.Name.Value;
            bool tooHigh = pins.Range.High - volts.High < volts.Low - pins.Range.Low;
            double room = tooHigh ? pins.Range.High - volts.High : volts.Low - pins.Range.Low;
            yield return CheckContext.Finding(
                this,
                name,
                context.StageOf(name),
                room / (pins.Range.Width / 2),
                $"{name} has {Engineering.Range(volts.Low, volts.High, "V", 3)} between its supply pins; its grade is rated for {Engineering.Range(pins.Range.Low, pins.Range.High, "V", 3)}.",
                [
                    new Figure(tooHigh ? "greatest supply" : "least supply", tooHigh ? volts.High : volts.Low, "V"),
                    new Figure(tooHigh ? "rated to" : "rated from", tooHigh ? pins.Range.High : pins.Range.Low, "V"),
                ],
                tooHigh
                    ? $"Feed {name} from a lower supply, or take a grade rated for {Engineering.Format(volts.High, "V", 3)}."
                    : $"Feed {name} from a higher supply, or take a grade that works from {Engineering.Format(volts.Low, "V", 3)}.",
                part.Span);
        }
    }
}
