using CsCheck;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>What must hold of any linear network, whatever its parts.</summary>
public sealed class LinearPropertyTests
{
    // Networks are numbered rather than shrunk: a number is what a failing case needs.
    private static readonly Gen<int> Seeds = Gen.Int[10_000, 1_000_000];

    [Fact] // Linearity: every source times k gives every voltage times k, and k a power of two moves no bit.
    public void Solve_SourcesScaledByPowerOfTwo_ScalesEveryVoltageExactly() => Gen.Select(Seeds, Gen.Int[-20, 20]).Each(200, static sample =>
        {
            (int seed, int power) = sample;
            Circuit circuit = Plain(seed);
            double[] before = Voltages(circuit);
            Scale(circuit, Math.ScaleB(1, power));
            double[] after = Voltages(circuit);
            for (int k = 0; k < before.Length; k++)
                Assert.Equal(Math.ScaleB(before[k], power), after[k]);
        });

    [Fact] // Ohm: every resistance and transfer resistance times k leaves the voltages of voltage sources alone.
    public void Solve_ResistancesScaledByPowerOfTwo_LeavesVoltagesAlone() => Gen.Select(Seeds, Gen.Int[0, 10]).Each(200, static sample =>
        {
            (int seed, int power) = sample;
            Circuit circuit = Plain(seed);
            ForEach(circuit, "I", static _ => 0);
            double[] before = Voltages(circuit);
            ForEach(circuit, "R", value => Math.ScaleB(value, power));
            double[] after = Voltages(circuit);
            double greatest = before.Max(Math.Abs);
            // The two solves may eliminate in another order; a thousandth of the conservation limit.
            for (int k = 0; k < before.Length; k++)
                Assert.Equal(before[k], after[k], 1e-12 * greatest);
        });

    [Fact] // Superposition: the sources one at a time add up to all at once.
    public void Solve_SourcesOneAtATime_AddUp() => Seeds.Each(200, static seed =>
        {
            Circuit circuit = RandomNetwork.Create(seed).ToCircuit();
            List<int> sources = IndependentSlots(circuit);
            double[] values = [.. circuit.Values];
            double[] all = Voltages(circuit);
            var sum = new double[all.Length];
            double greatest = all.Max(Math.Abs);
            foreach (int slot in sources)
            {
                foreach (int other in sources)
                    circuit.Values[other] = other == slot ? values[other] : 0;
                double[] part = Voltages(circuit);
                greatest = Math.Max(greatest, part.Max(Math.Abs));
                for (int k = 0; k < sum.Length; k++)
                    sum[k] += part[k];
            }

            // Each part is good to 1e-12 of its greatest; ten of them to 1e-11.
            for (int k = 0; k < all.Length; k++)
                Assert.Equal(all[k], sum[k], 1e-11 * greatest);
        });

    [Fact] // Reciprocity (Lorentz): in a network of resistors a current at one pair gives at another the voltage that it would give the other way round.
    public void Solve_ResistorsOnly_IsReciprocal() => Gen.Select(Seeds, Gen.Int[0, 1000], Gen.Int[0, 1000]).Each(200, static sample =>
        {
            (int seed, int first, int second) = sample;
            RandomNetwork network = RandomNetwork.Create(seed, hasActive: false);
            Circuit circuit = network.ToCircuit();
            string p = RandomNetwork.Name(1 + (first % (network.NodeCount - 1)));
            string q = RandomNetwork.Name(1 + (second % (network.NodeCount - 1)));
            circuit.Add("I", "atP", ["0", p], 0).Add("I", "atQ", ["0", q], 0);
            ForEach(circuit, "V", static _ => 0);
            ForEach(circuit, "I", static _ => 0);
            double forth = circuit.Set("atP", 1e-3).Set("atQ", 0).Voltage(q);
            double back = circuit.Set("atP", 0).Set("atQ", 1e-3).Voltage(p);
            double self = circuit.Voltage(q);
            Assert.Equal(forth, back, 1e-11 * Math.Abs(self));
        });

    [Fact] // The adjoint derivative is the derivative: central differences of the same readings.
    public void Sensitivities_OfRandomNetworks_MatchCentralDifferences() => Seeds.Each(150, static seed =>
        {
            Circuit circuit = RandomNetwork.Create(seed, decades: 4).ToCircuit();
            SensitivityCheck.Run(circuit, new Random(seed));
        });

    [Fact] // Islands: what one island does cannot move another, to the bit.
    public void Solve_IslandsApart_AreIndependent()
    {
        var circuit = new Circuit();
        NodeId second = circuit.Node("L0");
        circuit.Builder.Return(second);
        circuit.Add("V", "V1", ["a", "0"], 5).Add("R", "R1", ["a", "b"], 1e3).Add("R", "R2", ["b", "0"], 2e3);
        circuit.Add("V", "V2", ["c", "L0"], 15).Add("R", "R3", ["c", "d"], 3e3).Add("R", "R4", ["d", "L0"], 4.7e3);
        circuit.Add("U1", circuit.Builder.IsolationAmplifier("U1", circuit.Node("b"), circuit.Node("0"), circuit.Node("e"), second), 1);
        circuit.Add("R", "R5", ["e", "L0"], 10e3);
        double before = circuit.Voltage("d", "L0");
        Assert.Equal(10.0 / 3, circuit.Voltage("e", "L0"), 1e-14);
        circuit.Set("V1", 7).Set("R1", 0);
        Assert.Equal(before, circuit.Voltage("d", "L0"));
        Assert.Equal(2, circuit.Network.Islands.Length);
        Assert.Empty(circuit.Network.FloatingNodes);
        Assert.Empty(circuit.Network.Bridge(circuit.Node("b"), circuit.Node("d")));
    }

    // Infinite gain with plus and minus through dividers is fine, but a fallback to another elimination order would move the last bit of a scaled solve.
    private static Circuit Plain(int seed) => RandomNetwork.Create(seed, decades: 4, hasActive: false).ToCircuit();

    private static double[] Voltages(Circuit circuit)
    {
        OperatingPoint point = circuit.Solve();
        var voltages = new double[circuit.Network.NodeCount];
        for (int node = 0; node < voltages.Length; node++)
            voltages[node] = point.Voltage(new NodeId(node));
        return voltages;
    }

    private static void Scale(Circuit circuit, double factor)
    {
        ForEach(circuit, "V", value => factor * value);
        ForEach(circuit, "I", value => factor * value);
    }

    private static void ForEach(Circuit circuit, string kind, Func<double, double> change)
    {
        for (int k = 0; k < circuit.Network.ElementCount; k++)
        {
            var element = new ElementId(k);
            string name = circuit.Network.ElementName(element);
            if (!name.StartsWith(kind, StringComparison.Ordinal) || !char.IsDigit(name[kind.Length]))
                continue;
            int slot = circuit.Network.FirstSlot(element);
            circuit.Values[slot] = change(circuit.Values[slot]);
        }
    }

    /// <summary>Slots whose value drives the network: sources, offsets, bias currents.</summary>
    private static List<int> IndependentSlots(Circuit circuit)
    {
        var slots = new List<int>();
        for (int slot = 0; slot < circuit.Network.SlotCount; slot++)
        {
            string quantity = circuit.Network.Slots[slot].Quantity;
            if (quantity is "voltage" or "current" || quantity.Contains("offset", StringComparison.Ordinal) || quantity.StartsWith("bias", StringComparison.Ordinal))
                slots.Add(slot);
        }

        return slots;
    }
}
