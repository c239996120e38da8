using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Domains that the supplies keep apart are not joined by anything else.</summary>
internal sealed class IsolationCheck : Check
{
    public override string Name => "isolation not bridged";

    public override string MustHold => "No part, supply or wire joins two returns that an isolated supply keeps apart, and signals cross only through isolators.";

    public override string Formula => "Islands of the network by what conducts at direct current; an island that holds two returns is bridged along the shortest path between them. "
        + "An output converter on another island than the processor, which stands on the first supply's return, needs an isolating link.";

    public override string Source => "IEC 61010-1 asks for insulation between circuits; the search for a path is plain graph theory. Local codes and licensed practice decide.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Model model = context.Model;
        string[] returns = [.. model.ReturnNames()];
        Instrument instrument = context.Instrument;
        Supply? isolated = instrument.Supplies.FirstOrDefault(s => s.Kind == SupplyKind.IsolatedConverter);
        if (returns.Length < 2 && isolated is null)
        {
            yield break;
        }

        bool bridged = false;
        HashSet<(string, string)> judged = [];
        foreach (Supply supply in instrument.Supplies.Where(s => s.Kind == SupplyKind.IsolatedConverter && s.From is not null))
        {
            Supply? source = instrument.Supplies.FirstOrDefault(s => s.Name.Value == supply.From!.Value.Value);
            if (source is null)
            {
                continue;
            }

            string near = source.Return.Value;
            string far = supply.Return.Value;
            if (!judged.Add((near, far)))
            {
                // A second supply across the same gap has the same path to show.
                continue;
            }

            List<string> joined = near == far ? [] : Path(model.Field, near, far);
            if (near == far || joined.Count > 0)
            {
                bridged = true;
                string by = near == far
                    ? $"supply {supply.Name.Value} itself, whose return is {far} on both sides"
                    : string.Join(" and ", joined);
                yield return CheckContext.Finding(
                    this,
                    $"{near} and {far}",
                    "supplies",
                    -1,
                    $"{near} and {far} are kept apart by {supply.Name.Value} and joined by {by}.",
                    [],
                    near == far ? $"Give {supply.Name.Value} a return of its own." : $"Take {joined[0]} off one of the two sides.",
                    joined.Count > 0 ? context.PlaceOf(joined[0]) : supply.Return.Span);
            }
        }

        if (model.OutputConverter is { } dac && Crosses(model, dac) && dac.Link is not { Kind.Value: not "plain" })
        {
            bridged = true;
            yield return CheckContext.Finding(
                this,
                dac.Name.Value,
                dac.Name.Value,
                -1,
                $"{dac.Name.Value} stands on another island than the converter of the input and its codes come over plain wires: they join the two sides.",
                [],
                "Send the codes through a digital isolator that withstands the isolation voltage.",
                dac.Link?.Span ?? dac.Span);
        }

        string[] apart = Apart(model, returns);
        if (!bridged && apart.Length > 1)
        {
            yield return CheckContext.Finding(
                this,
                string.Join(" and ", apart),
                "supplies",
                1,
                $"Nothing conducts between {string.Join(" and ", apart)}.",
                [new Figure("islands", apart.Length, "")],
                null,
                isolated?.Span ?? instrument.Span);
        }
    }

    /// <summary>The first return of each island that has one: returns that parts join are one.</summary>
    private static string[] Apart(Model model, string[] returns) =>
        [.. returns.DistinctBy(r => model.Field.Find(r) is { } node ? model.Field.ReturnOf(node, nearest: false) : null)];

    private static List<string> Path(BoundNetwork network, string a, string b)
    {
        if (network.Find(a) is not { } first || network.Find(b) is not { } second)
        {
            return [];
        }

        return [.. network.Network.Bridge(first, second).Select(network.Network.ElementName).Select(n => n.Split('.')[0]).Distinct()];
    }

    private static bool Crosses(Model model, OutputConverterStage dac)
    {
        string processor = model.DefaultReturn;
        return model.Field.Find(dac.Output.Value) is { } node
            && model.Field.Find(processor) is { } home
            && model.Field.Network.Islands.FirstOrDefault(i => i.Nodes.Contains(node)) is { } island
            && !island.Nodes.Contains(home);
    }
}
