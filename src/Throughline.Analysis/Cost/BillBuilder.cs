using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Gathers what is bought for one instrument.</summary>
internal static class BillBuilder
{
    /// <summary>A class must promise what the file states; their decimal fractions are rounded.</summary>
    private const double Rounding = 1e-9;

    private static readonly string[] NothingToBuy = ["leakage", "voltage", "current"];

    public static BillOfMaterials Build(Instrument instrument)
    {
        CostSection? cost = instrument.Cost;
        ImmutableArray<int> quantities = cost?.Quantities ?? [1, 100];
        List<(string Article, string Class, string Owner, PriceList? Price)> all = [];
        foreach (Part part in instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).Where(p => !NothingToBuy.Contains(p.Kind)))
        {
            all.Add(Of(part));
        }

        foreach (Supply supply in instrument.Supplies.Where(s => s.Kind is not (SupplyKind.Dc or SupplyKind.Loop)))
        {
            string kind = supply.KindWord;
            all.Add(($"{kind} {Engineering.Format(supply.Voltage.Quantity.Value, "V")}", "", supply.Name.Value, PriceOf(kind)));
        }

        foreach (Stage stage in instrument.Stages)
        {
            if (stage is ConverterStage adc)
            {
                all.Add(($"adc {adc.Bits} bit", "", adc.Name.Value, PriceOf("adc")));
            }
            else if (stage is OutputConverterStage dac)
            {
                // The pulses are a timer's of the processor.
                if (dac.Clock is null)
                {
                    all.Add(($"dac {dac.Bits} bit", "", dac.Name.Value, PriceOf("dac")));
                }

                if (dac.Link is { Kind.Value: not "plain" } link)
                {
                    all.Add((link.Kind.Value, "", dac.Name.Value, PriceOf(link.Kind.Value)));
                }
            }
        }

        all.AddRange((cost?.Further ?? []).Select(f => (f.Name.Value, "", f.Name.Value, (PriceList?)f.Price)));
        return new BillOfMaterials(
            cost?.Currency ?? "",
            quantities,
            [.. all.GroupBy(a => (a.Article, a.Class)).Select(g => new BillLine(g.Key.Article, g.Key.Class, [.. g.Select(a => a.Owner)], g.First().Price))]);

        PriceList? PriceOf(string kind) => instrument.Prices.Kinds.GetValueOrDefault(kind);

        (string, string, string, PriceList?) Of(Part part)
        {
            string name = part.Name.Value;
            if (part is IToleranced toleranced && instrument.Prices.Classes.ContainsKey(part.Kind))
            {
                PriceClass? bought = ClassOf(instrument, part, quantities[^1]);
                string value = Engineering.Format(toleranced.Main.Quantity.Value, QuantityText.UnitOf(toleranced.Main.Quantity.Dimension));
                return ($"{part.Kind} {value}", bought?.Text ?? Stated(toleranced.Main.Quantity), name, bought?.Price);
            }

            if (part is IToleranced plain)
            {
                string value = Engineering.Format(plain.Main.Quantity.Value, QuantityText.UnitOf(plain.Main.Quantity.Dimension));
                return ($"{part.Kind} {value}", Stated(plain.Main.Quantity), name, null);
            }

            PriceList? ofGrade = part.Grade is { } grade ? instrument.Prices.Grades.GetValueOrDefault((part.Kind, grade.Value)) : null;
            return (part.Kind, part.Grade?.Value ?? "", name, ofGrade ?? part.GradePrice ?? PriceOf(part.Kind));
        }
    }

    /// <summary>The cheapest class that keeps what the file states of a part; null when none is on the list.</summary>
    /// <param name="instruments">Built at once.</param>
    public static PriceClass? ClassOf(Instrument instrument, Part part, int instruments) =>
        part is IToleranced { Main.Quantity: var quantity } && instrument.Prices.Classes.TryGetValue(part.Kind, out ImmutableArray<PriceClass> classes)
            ? classes.Where(c => c.Tolerance <= (ToleranceOf(part, quantity) * (1 + Rounding)) && (DriftOf(part, quantity) is not { } drift || c.Drift <= drift * (1 + Rounding)))
                .MinBy(c => c.Price.Of(instruments))
            : null;

    /// <summary>A part as it would be in a class: with the class's tolerance, and its temperature coefficient where the file counts one.</summary>
    public static Part In(Part part, PriceClass priced)
    {
        Quantity q = ((IToleranced)part).Main.Quantity;
        double size = Math.Abs(q.Value);
        return ((IToleranced)part).WithMain(q with
        {
            Low = q.Value - (priced.Tolerance * size),
            High = q.Value + (priced.Tolerance * size),
            Drift = DriftOf(part, q) is null ? 0 : (priced.Drift ?? 0) * size,
            SignedDrift = 0,
        });
    }

    private static double ToleranceOf(Part part, Quantity quantity) =>
        part is Resistor { Network: { } network } ? network.Common.Quantity.Tolerance + (quantity.Tolerance / Math.Abs(quantity.Value)) : quantity.Tolerance / Math.Abs(quantity.Value);

    /// <summary>What the file states, 1/K; null when it states nothing.</summary>
    internal static double? DriftOf(Part part, Quantity quantity)
    {
        double common = part is Resistor { Network: { } network } ? network.Common.Quantity.Drift : 0;
        double drift = common + (Math.Max(quantity.Drift, Math.Abs(quantity.SignedDrift)) / Math.Abs(quantity.Value));
        return drift > 0 ? drift : null;
    }

    private static string Stated(Quantity quantity)
    {
        double size = Math.Abs(quantity.Value);
        string tolerance = quantity.Tolerance > 0 ? "±" + Engineering.Percent(quantity.Tolerance / size) : "";
        double drift = Math.Max(quantity.Drift, Math.Abs(quantity.SignedDrift)) / size;
        return drift > 0 ? $"{tolerance} ±{Engineering.Number(drift * 1e6)} ppm/K".Trim() : tolerance;
    }
}
