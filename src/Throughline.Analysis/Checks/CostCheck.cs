namespace Throughline.Analysis;

/// <summary>The parts cost no more than they may.</summary>
internal sealed class CostCheck : Check
{
    public override string Name => "cost of the parts";

    public override string MustHold => "Everything that is bought for one instrument has a price, and together they cost no more than the file allows at its greatest quantity.";

    public override string Formula => "Sum over the bill of materials, each article at the price of as many as are bought at once; of a part the cheapest class that keeps its tolerance and temperature coefficient.";

    public override string Source => "Arithmetic.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Cost is not { Most: { } most } cost)
        {
            yield break;
        }

        BillOfMaterials bill = BillBuilder.Build(context.Instrument);
        int quantity = bill.Quantities[^1];
        double total = bill.Total(quantity);
        BillLine[] unpriced = [.. bill.Unpriced];
        string currency = bill.Currency.Length > 0 ? " " + bill.Currency : "";
        string open = unpriced.Length == 0 ? "" : $" Without a price: {string.Join(", ", unpriced.Take(4).Select(l => $"{l.Owners[0]} ({l.Article})"))}{(unpriced.Length > 4 ? " …" : "")}.";
        BillLine? dearest = bill.Lines.Where(l => l.Price is not null).MaxBy(l => l.Cost(quantity));
        yield return CheckContext.Finding(
            this,
            "instrument",
            "instrument",
            unpriced.Length > 0 ? Math.Min(-0.01, CheckContext.MarginOf(total, most.Value)) : CheckContext.MarginOf(total, most.Value),
            $"{Engineering.Fixed(total, 2)}{currency} for one of {Engineering.Number(quantity)}; allowed {Engineering.Fixed(most.Value, 2)}{currency}."
                + (dearest is null ? "" : $" The dearest is {dearest.Article} at {Engineering.Fixed(dearest.Cost(quantity), 2)}.") + open,
            [new Figure("cost of one", total, ""), new Figure("allowed", most.Value, ""), new Figure("articles", bill.Lines.Length, ""), new Figure("without a price", unpriced.Length, "")],
            unpriced.Length > 0
                ? "State the missing prices: `cost` of a grade, or `prices` in the parts file."
                : "Look at `bom --classes` for parts that are better than they need be.",
            most.Span);
    }
}
