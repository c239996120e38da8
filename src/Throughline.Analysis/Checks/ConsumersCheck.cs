using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Everything that takes current is on a rail.</summary>
internal sealed class ConsumersCheck : Check
{
    public override string Name => "every consumer accounted for";

    public override string MustHold => "Where draws are stated, each converter, the processor, the panel and both sides of an isolator take theirs from some supply.";

    public override string Formula => "The names under the supplies' `draws` against the stages, the panel and the links of the file; a link takes current on either side.";

    public override string Source => "common practice, no source";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        if (instrument.Supplies.All(s => s.Draws.IsEmpty))
        {
            yield break;
        }

        List<(string Name, string Where)> missing = [];
        int asked = 0;
        void Ask(string name, bool isThere, string where)
        {
            asked++;
            if (!isThere)
            {
                missing.Add((name, where));
            }
        }

        string[] drawn = [.. instrument.Supplies.SelectMany(s => s.Draws).Select(d => d.Name.Value)];
        foreach (Stage stage in instrument.Stages.Where(s => s is ConverterStage or OutputConverterStage or ArithmeticStage))
        {
            Ask(stage.Name.Value, drawn.Contains(stage.Name.Value), "any supply");
        }

        if (instrument.Panel is not null)
        {
            Ask("panel", drawn.Contains("panel"), "any supply");
        }

        if (instrument.Stages.OfType<OutputConverterStage>().Any(d => d.Link is { Kind.Value: not "plain" }))
        {
            string[] sides = [.. instrument.Supplies.Where(s => s.Draws.Any(d => d.Name.Value == "link")).Select(s => s.Return.Value).Distinct()];
            Ask("link", sides.Length > 0, "any supply");
            Ask("link", sides.Length != 1, "a supply on the other side");
        }

        double sum = instrument.Supplies.SelectMany(s => s.Draws).Sum(d => d.Greatest);
        yield return CheckContext.Finding(
            this,
            "supplies",
            "supplies",
            missing.Count == 0 ? 1 : -1,
            missing.Count == 0
                ? $"All {asked} consumers that are not drawn as circuits are on a rail."
                : string.Join(" ", missing.Select(m => $"{m.Name} takes nothing from {m.Where}.")),
            [new Figure("consumers", asked, ""), new Figure("without a supply", missing.Count, ""), new Figure("sum of all draws", sum, "A")],
            "State what it draws under the supply that feeds it, `0 mA` where another draw holds it.",
            instrument.Supplies.First(s => !s.Draws.IsEmpty).Span);
    }
}
