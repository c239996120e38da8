using Throughline.Circuits;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>Isolated domains against a search for a path that knows nothing of the network's own.</summary>
public sealed class IslandTests
{
    [Fact] // Property: two returns are in one island exactly when parts join them, by merging sets over the parts' own terminals
    public void Islands_OfRandomDesigns_AreWhatPartsJoin()
    {
        int bridged = 0;
        int apart = 0;
        for (int seed = 0; seed < 150; seed++)
        {
            (string supplies, string parts, _) = Trees.Random(seed);
            Random random = new(seed + 10_000);
            Instrument plain = Trees.Instrument(supplies, parts);
            string[] returns = [.. plain.Supplies.Select(s => s.Return.Value).Distinct()];
            string[] nodes = [.. plain.Supplies.Select(s => s.Name.Value), .. returns];
            for (int i = random.Next(3); i > 0; i--)
            {
                // Each goes anywhere: some bridge a barrier, some do not.
                (string a, string b) = (nodes[random.Next(nodes.Length)], nodes[random.Next(nodes.Length)]);
                parts += a == b ? "" : FormattableString.Invariant($"\nRX{i}: {{ resistor: 1 MΩ, between: [{a}, {b}] }}");
            }

            Instrument instrument = Trees.Instrument(supplies, parts);
            BoundNetwork network = Model.Compile(instrument).Field;
            Dictionary<string, string> sets = [];
            string Find(string node) => sets.GetValueOrDefault(node, node) is var up && up == node ? node : Find(up);
            void Join(string a, string b) => sets[Find(a)] = Find(b);
            foreach (Part part in instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts))
            {
                Join(part.Terminals[0].Node.Value, part.Terminals[1].Node.Value);
            }

            foreach (Supply supply in instrument.Supplies)
            {
                Join(supply.Name.Value, supply.Return.Value);
            }

            foreach (string a in returns)
            {
                foreach (string b in returns.Where(b => b != a))
                {
                    NodeId node = network.Find(b)!.Value;
                    bool isOne = network.Network.Islands.Single(i => i.Nodes.Contains(network.Find(a)!.Value)).Nodes.Contains(node);
                    Assert.True(isOne == (Find(a) == Find(b)), $"seed {seed}: {a} and {b}");
                    bridged += isOne ? 1 : 0;
                    apart += isOne ? 0 : 1;
                }
            }

            bool anyBridge = instrument.Supplies.Any(s => s.Kind == SupplyKind.IsolatedConverter
                && Find(instrument.Supplies.Single(p => p.Name.Value == s.From!.Value.Value).Return.Value) == Find(s.Return.Value));
            Assert.Equal(anyBridge, Reviewer.Review(instrument).Findings.Any(f => f.Check == "isolation not bridged" && f.Outcome == Outcome.NotMet));
        }

        Assert.True(bridged > 20 && apart > 100, $"{bridged} bridged, {apart} apart");
    }
}
