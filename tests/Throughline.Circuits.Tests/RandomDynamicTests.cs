using System.Numerics;
using System.Text.Json.Nodes;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Frequency response, noise and step response against NumPy and SciPy, stamped and solved independently in Reference/networks.py.</summary>
public sealed class RandomDynamicTests
{
    private static readonly double[] Frequencies = [0.1, 50, 3e3, 2e5];

    [Fact]
    public void Transfers_RandomNetworks_MatchNumPy()
    {
        (RandomNetwork[] networks, JsonArray expected) = Run("response", 700, static json => json["frequencies"] = Array(Frequencies));
        int compared = 0;
        for (int k = 0; k < networks.Length; k++)
        {
            double condition = (double)expected[k]!["condition"]!;
            if (condition > 1e11)
                continue;
            compared++;
            Circuit circuit = networks[k].ToCircuit();
            SmallSignal signal = ExampleNetworks.Linearise(circuit);
            for (int f = 0; f < Frequencies.Length; f++)
            {
                Complex[] voltages = [.. expected[k]!["voltages"]![f]!.AsArray().Select(static pair => new Complex((double)pair![0]!, (double)pair[1]!))];
                double greatest = voltages.Max(Complex.Abs);
                int node = 1 + ((k + f) % (voltages.Length - 1));
                Complex actual = SumOfSources(circuit, signal, Probe.Voltage(circuit.Node(RandomNetwork.Name(node)), circuit.Node("0")), Frequencies[f]);
                double tolerance = greatest * Math.Max(1e-11, 1e-14 * condition);
                Assert.True(Complex.Abs(actual - voltages[node]) <= tolerance, $"network {k}, {Frequencies[f]} Hz, node {node}: {actual} for {voltages[node]}, condition {condition}");
            }
        }

        Assert.True(compared >= 500, $"only {compared} networks were conditioned well enough");
    }

    [Fact]
    public void NoiseDensity_RandomNetworks_MatchesNumPy()
    {
        double[] amplifier = [10e-9, 100, 1e-12, 500];
        (RandomNetwork[] networks, JsonArray expected) = Run("noise", 600, json =>
        {
            json["frequencies"] = Array(Frequencies);
            json["noise"] = Array(amplifier);
            json["node"] = 1 + ((int)json["nodes"]! / 2);
        });
        int compared = 0;
        for (int k = 0; k < networks.Length; k++)
        {
            double condition = (double)expected[k]!["condition"]!;
            if (condition > 1e10)
                continue;
            compared++;
            Circuit circuit = networks[k].ToCircuit();
            foreach (Slot slot in circuit.Network.Slots.Where(static slot => slot.ElementName.StartsWith("OPAMP", StringComparison.Ordinal) && slot.Quantity == "open-loop gain"))
            {
                circuit.Set(slot.ElementName, amplifier[0], (int)OpAmpSlot.Noise).Set(slot.ElementName, amplifier[1], (int)OpAmpSlot.NoiseCorner)
                    .Set(slot.ElementName, amplifier[2], (int)OpAmpSlot.NoiseCurrent).Set(slot.ElementName, amplifier[3], (int)OpAmpSlot.NoiseCurrentCorner);
            }

            SmallSignal signal = ExampleNetworks.Linearise(circuit);
            Probe probe = Probe.Voltage(circuit.Node(RandomNetwork.Name(1 + (networks[k].NodeCount / 2))), circuit.Node("0"));
            for (int f = 0; f < Frequencies.Length; f++)
            {
                double density = (double)expected[k]!["densities"]![f]!;
                double actual = signal.NoiseDensity(probe, Frequencies[f]).Value;
                Assert.True(Math.Abs(actual - density) <= (density * Math.Max(1e-10, 1e-13 * condition)) + 1e-20, $"network {k}, {Frequencies[f]} Hz: {actual} for {density}, condition {condition}");
            }
        }

        Assert.True(compared >= 500, $"only {compared} networks were conditioned well enough");
    }

    [Fact]
    public void Step_RandomNetworks_MatchesMatrixExponential()
    {
        (RandomNetwork[] networks, JsonArray expected) = Run("step", 1000, static _ => { });
        int compared = 0;
        for (int k = 0; k < networks.Length && compared < 600; k++)
        {
            double condition = (double)expected[k]!["condition"]!;
            if (condition > 1e10)
                continue;
            compared++;
            Circuit circuit = networks[k].ToCircuit();
            SmallSignal signal = ExampleNetworks.Linearise(circuit);
            Assert.True(signal.IsStable, $"network {k}");
            JsonArray times = expected[k]!["times"]!.AsArray();
            for (int t = 0; t < times.Count; t++)
            {
                double[] voltages = [.. expected[k]!["voltages"]![t]!.AsArray().Select(static value => (double)value!)];
                double greatest = voltages.Max(Math.Abs);
                int node = 1 + ((k + t) % (voltages.Length - 1));
                double actual = SumOfSteps(circuit, signal, Probe.Voltage(circuit.Node(RandomNetwork.Name(node)), circuit.Node("0")), (double)times[t]!);
                double tolerance = greatest * Math.Max(1e-9, 1e-14 * condition);
                Assert.True(Math.Abs(actual - voltages[node]) <= tolerance, $"network {k}, {times[t]} s, node {node}: {actual} for {voltages[node]}, condition {condition}");
            }
        }

        Assert.True(compared >= 500, $"only {compared} networks were conditioned well enough");
    }

    private static (RandomNetwork[] Networks, JsonArray Expected) Run(string task, int count, Action<JsonObject> complete)
    {
        RandomNetwork[] networks = [.. Enumerable.Range(0, count).Select(static seed => RandomNetwork.Create(50_000 + seed, decades: 4, isDynamic: true))];
        JsonArray expected = NumericalPython.Run(task, networks.Select(network =>
        {
            JsonObject json = network.ToJson();
            complete(json);
            return json;
        }));
        return (networks, expected);
    }

    private static JsonArray Array(double[] values) => new([.. values.Select(static value => (JsonNode)value)]);

    /// <summary>Slots that drive the network, and are stepped or swept together by the reference.</summary>
    private static IEnumerable<int> Drivers(Circuit circuit)
    {
        for (int slot = 0; slot < circuit.Network.SlotCount; slot++)
        {
            string quantity = circuit.Network.Slots[slot].Quantity;
            if (quantity is "voltage" or "current" || quantity.Contains("offset", StringComparison.Ordinal) || quantity.StartsWith("bias", StringComparison.Ordinal))
                yield return slot;
        }
    }

    private static Complex SumOfSources(Circuit circuit, SmallSignal signal, Probe probe, double hertz)
    {
        var perSlot = new Complex[circuit.Network.SlotCount];
        signal.Transfers(probe, hertz, perSlot);
        return Drivers(circuit).Aggregate(Complex.Zero, (sum, slot) => sum + (perSlot[slot] * circuit.Values[slot]));
    }

    private static double SumOfSteps(Circuit circuit, SmallSignal signal, Probe probe, double seconds) =>
        Drivers(circuit).Where(slot => circuit.Values[slot] != 0).Sum(slot => signal.Step(slot, circuit.Values[slot], probe).At(seconds));
}
