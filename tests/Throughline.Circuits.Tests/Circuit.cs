using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>A network under test with its values by name. Node 0 is the return.</summary>
public sealed class Circuit
{
    private readonly NetworkBuilder _builder = new();
    private readonly Dictionary<string, ElementId> _elements = new(StringComparer.Ordinal);
    private readonly List<(ElementId Element, int Slot, double Value)> _values = [];
    private Network? _network;
    private NetworkSolver? _solver;
    private double[] _numbers = [];

    public Circuit() => _builder.Return(_builder.Node("0"));

    public NetworkBuilder Builder => _builder;

    public Network Network => _network ??= BuildNetwork();

    public NetworkSolver Solver => _solver ??= Network.CreateSolver();

    public double[] Values => Network is null ? [] : _numbers;

    public double Kelvin { get; set; } = 298.15;

    /// <summary>The network of an example of elements.csv with the overrides of a condition such as <c>Vi=0.3 Rx=6040</c>.</summary>
    public static Circuit Example(string example, string condition = "")
    {
        var circuit = new Circuit();
        foreach (ElementRow row in ReferenceTables.Elements.Where(row => row.Example == example))
            circuit.Add(row.Kind, row.Name, row.Nodes, row.Value);
        foreach (string part in condition.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            string[] sides = part.Split('=');
            string name = sides[0] == "gain" ? "A" : sides[0];
            circuit.Set(name, ReferenceTables.Quantity(sides[1]));
        }

        return circuit;
    }

    public NodeId Node(string name) => _builder.Node(name);

    public ElementId Element(string name) => _elements[name];

    public int Slot(string name, int slot = 0) => Network.FirstSlot(Element(name)) + slot;

    public double this[string name] => Values[Slot(name)];

    public Circuit Add(string kind, string name, string[] nodes, double value = double.NaN)
    {
        NodeId[] pins = [.. nodes.Select(Node)];
        ElementId element = kind switch
        {
            "R" => _builder.Resistor(name, pins[0], pins[1]),
            "C" => _builder.Capacitor(name, pins[0], pins[1]),
            "L" => _builder.Inductor(name, pins[0], pins[1]),
            "V" => _builder.VoltageSource(name, pins[0], pins[1]),
            "I" => _builder.CurrentSource(name, pins[0], pins[1]),
            "VCVS" => _builder.ControlledVoltage(name, pins[0], pins[1], pins[2], pins[3]),
            "OPAMP" => _builder.OpAmp(name, pins[0], pins[1], pins[2], pins.Length > 3 ? pins[3] : null, pins.Length > 4 ? pins[4] : null),
            "D" => _builder.Diode(name, pins[0], pins[1]),
            "NPN" => _builder.Bipolar(name, pins[0], pins[1], pins[2], true),
            "PNP" => _builder.Bipolar(name, pins[0], pins[1], pins[2], false),
            _ => throw new ArgumentException($"No kind {kind}.", nameof(kind)),
        };
        return Add(name, element, double.IsNaN(value) ? [] : [value]);
    }

    /// <summary>Names an element that was added to the builder, with its first slots.</summary>
    public Circuit Add(string name, ElementId element, params double[] values)
    {
        _elements.Add(name, element);
        for (int slot = 0; slot < values.Length; slot++)
            Set(name, values[slot], slot);
        return this;
    }

    public Circuit Set(string name, double value, int slot = 0)
    {
        if (_network is null)
            _values.Add((_elements[name], slot, value));
        else
            _numbers[_network.FirstSlot(_elements[name]) + slot] = value;
        return this;
    }

    public OperatingPoint Solve()
    {
        OperatingPoint point = Solver.Solve(Values, Kelvin);
        Assert.True(point.Status == SolveStatus.Solved, point.Trouble);
        Conservation.Check(Network, point);
        return point;
    }

    public double Voltage(string plus, string minus = "0") => Solve().Voltage(Node(plus), Node(minus));

    public double Current(string element) => Solve().Current(Element(element));

    /// <summary>Derivatives of a reading by slot.</summary>
    public double[] Sensitivities(Probe probe)
    {
        Solve();
        var perSlot = new double[Network.SlotCount];
        Solver.Sensitivities(probe, perSlot);
        return perSlot;
    }

    private Network BuildNetwork()
    {
        Network network = _builder.Build();
        _numbers = network.CreateValues();
        foreach ((ElementId element, int slot, double value) in _values)
            _numbers[network.FirstSlot(element) + slot] = value;
        return network;
    }
}
