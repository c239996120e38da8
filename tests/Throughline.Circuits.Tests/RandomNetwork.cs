using System.Globalization;
using System.Text.Json.Nodes;

namespace Throughline.Circuits.Tests;

/// <summary>One element as both sides read it. Values of an op amp: gain (0 for infinite), offset, bias +, bias −, input and output resistance (0 for none), bandwidth.</summary>
internal sealed record Part(string Kind, int[] Nodes, double[] Values, int Control = -1);

/// <summary>
/// A random network that has one answer: a tree of resistors from the return carries every node, voltage sources and outputs of amplifiers drive
/// nodes of their own behind it, amplifiers have negative feedback.
/// </summary>
internal sealed class RandomNetwork
{
    private readonly Random _random;
    private readonly List<Part> _parts = [];

    private RandomNetwork(Random random) => _random = random;

    public IReadOnlyList<Part> Parts => _parts;

    public int NodeCount { get; private set; } = 1;

    /// <param name="seed">The same seed gives the same network.</param>
    /// <param name="decades">Resistances are spread over this many decades from 1 Ω.</param>
    /// <param name="isDynamic">With capacitors, inductors and bandwidths.</param>
    public static RandomNetwork Create(int seed, double decades = 6, bool isDynamic = false, bool hasActive = true)
    {
        var network = new RandomNetwork(new Random(seed));
        network.Grow(decades, isDynamic, hasActive);
        return network;
    }

    public JsonObject ToJson() => new()
    {
        ["nodes"] = NodeCount,
        ["elements"] = new JsonArray([.. _parts.Select(static part => new JsonObject
        {
            ["kind"] = part.Kind,
            ["nodes"] = new JsonArray([.. part.Nodes.Select(static node => (JsonNode)node)]),
            ["values"] = new JsonArray([.. part.Values.Select(static value => (JsonNode)value)]),
            ["control"] = part.Control,
        })]),
    };

    public Circuit ToCircuit()
    {
        var circuit = new Circuit();
        NetworkBuilder builder = circuit.Builder;
        for (int node = 1; node < NodeCount; node++)
            circuit.Node(Name(node));
        for (int k = 0; k < _parts.Count; k++)
        {
            Part part = _parts[k];
            NodeId[] n = [.. part.Nodes.Select(node => circuit.Node(Name(node)))];
            string name = $"{part.Kind}{k}";
            double[] v = part.Values;
            ElementId control = part.Control >= 0 ? new ElementId(part.Control) : default;
            ElementId element = part.Kind switch
            {
                "R" => builder.Resistor(name, n[0], n[1]),
                "C" => builder.Capacitor(name, n[0], n[1]),
                "L" => builder.Inductor(name, n[0], n[1]),
                "V" => builder.VoltageSource(name, n[0], n[1]),
                "I" => builder.CurrentSource(name, n[0], n[1]),
                "LINK" or "SENSE" => builder.Link(name, n[0], n[1]),
                "VCVS" => builder.ControlledVoltage(name, n[0], n[1], n[2], n[3]),
                "VCCS" => builder.ControlledCurrent(name, n[0], n[1], n[2], n[3]),
                "CCVS" => builder.ControlledVoltage(name, n[0], n[1], control),
                "CCCS" => builder.ControlledCurrent(name, n[0], n[1], control),
                "OPAMP" => builder.OpAmp(name, n[0], n[1], n[2]),
                "INAMP" => builder.InstrumentationAmplifier(name, n[0], n[1], n[2], n[3]),
                _ => throw new InvalidOperationException(part.Kind),
            };
            circuit.Add(name, element, part.Kind is "LINK" or "SENSE" ? [] : part.Kind is "OPAMP" or "INAMP" ? [] : v);
            if (part.Kind == "OPAMP")
                SetOpAmp(circuit, name, v);
            else if (part.Kind == "INAMP")
                circuit.Set(name, v[0]).Set(name, v[1], 1).Set(name, v[2], 2);
        }

        return circuit;
    }

    public static string Name(int node) => node.ToString(CultureInfo.InvariantCulture);

    private static void SetOpAmp(Circuit circuit, string name, double[] v) => circuit
        .Set(name, v[0] == 0 ? double.PositiveInfinity : v[0])
        .Set(name, v[1], (int)OpAmpSlot.Offset).Set(name, v[2], (int)OpAmpSlot.BiasPlus).Set(name, v[3], (int)OpAmpSlot.BiasMinus)
        .Set(name, v[4] == 0 ? double.PositiveInfinity : v[4], (int)OpAmpSlot.InputResistance).Set(name, v[5], (int)OpAmpSlot.OutputResistance)
        .Set(name, v[6] == 0 ? double.PositiveInfinity : v[6], (int)OpAmpSlot.GainBandwidth);

    private void Grow(double decades, bool isDynamic, bool hasActive)
    {
        double Ohms() => Math.Pow(10, decades * _random.NextDouble());
        double Farads() => Math.Pow(10, -9 + (3 * _random.NextDouble()));
        int passive = 3 + _random.Next(12);
        for (int k = 0; k < passive; k++)
            Add("R", [Any(), NewNode()], Ohms());
        int sources = 1 + _random.Next(3);
        for (int k = 0; k < sources; k++)
        {
            int at = Any();
            Add("V", [NewNode(), at], Signed(10));
            Add("R", [NodeCount - 1, Any()], Ohms());
        }

        for (int k = _random.Next(8); k > 0; k--)
            Add("R", Pair(), Ohms());
        for (int k = _random.Next(3); k > 0; k--)
            Add("I", Pair(), Signed(1e-3));
        if (isDynamic)
        {
            for (int k = 1 + _random.Next(5); k > 0; k--)
                Add("C", Pair(), Farads());
            if (_random.Next(3) == 0)
                Add("L", [Any(), NewNode()], Math.Pow(10, -4 + (3 * _random.NextDouble())));
            if (NodeCount > 1 && _parts[^1].Kind == "L")
                Add("R", [NodeCount - 1, Any()], Ohms());
        }

        if (!hasActive)
            return;
        if (_random.Next(3) == 0)
        {
            Add("LINK", [Any(), NewNode()]);
            int sense = _parts.Count - 1;
            Add("R", [NodeCount - 1, Any()], Ohms());
            int at = Any();
            if (_random.Next(2) == 0)
                Add("CCCS", [Any(), at], Signed(0.9), sense);
            else
                AddWith("CCVS", [NewNode(), at], [Signed(1000)], sense);
        }

        if (_random.Next(3) == 0)
            Add("VCCS", [.. Pair(), .. Pair()], Signed(1e-5));
        if (_random.Next(3) == 0)
        {
            int[] control = Pair();
            int from = Any();
            AddWith("VCVS", [NewNode(), from, .. control], [Signed(2)]);
            Add("R", [NodeCount - 1, Any()], Ohms());
        }

        for (int k = _random.Next(3); k > 0; k--)
            AddFeedbackAmplifier(isDynamic);
        if (_random.Next(3) == 0)
        {
            int[] input = Pair();
            int reference = Any();
            AddWith("INAMP", [.. input, NewNode(), reference], [Signed(10), Signed(1e-3), Signed(1e-2)]);
            Add("R", [NodeCount - 1, 0], 1e3 * (1 + _random.NextDouble()));
        }
    }

    /// <summary>Plus input anywhere, minus input on a divider of its own from the output.</summary>
    private void AddFeedbackAmplifier(bool isDynamic)
    {
        int plus = Any();
        int minus = NewNode();
        int output = NewNode();
        Add("R", [minus, 0], 1e3 * (1 + (9 * _random.NextDouble())));
        Add("R", [output, minus], 1e3 * (1 + (99 * _random.NextDouble())));
        bool isReal = _random.Next(2) == 0 || isDynamic;
        double gain = isReal ? Math.Pow(10, 4 + (2 * _random.NextDouble())) : 0;
        AddWith(
            "OPAMP", [plus, minus, output],
            [gain, Signed(1e-3), Signed(1e-7), Signed(1e-7), isReal ? 1e6 : 0, isReal ? 50 : 0, isDynamic ? Math.Pow(10, 5 + (2 * _random.NextDouble())) : 0]);
        Add("R", [output, 0], 1e4);
    }

    private int NewNode() => NodeCount++;

    private int Any() => _random.Next(NodeCount);

    private int[] Pair()
    {
        int first = _random.Next(NodeCount);
        int second = _random.Next(NodeCount - 1);
        return [first, second >= first ? second + 1 : second];
    }

    private double Signed(double size) => size * ((2 * _random.NextDouble()) - 1);

    private void Add(string kind, int[] nodes, double value = double.NaN, int control = -1) =>
        AddWith(kind, nodes, double.IsNaN(value) ? [] : [value], control);

    private void AddWith(string kind, int[] nodes, double[] values, int control = -1) => _parts.Add(new Part(kind, nodes, values, control));
}
