namespace Throughline.Circuits;

/// <summary>Collects nodes and elements into a <see cref="Network"/>. Each element's slots are in the order its summary lists them. One thread.</summary>
public sealed class NetworkBuilder
{
    private readonly List<string> _nodeNames = [];
    private readonly Dictionary<string, int> _nodes = new(StringComparer.Ordinal);
    private readonly List<NodeId> _returns = [];
    private readonly List<Element> _elements = [];
    private readonly List<Func<IReadOnlyList<Element>, Element>> _recipes = [];
    private bool _isBuilt;

    /// <summary>Gets or adds the node of that name.</summary>
    public NodeId Node(string name)
    {
        ArgumentException.ThrowIfNullOrEmpty(name);
        if (!_nodes.TryGetValue(name, out int index))
        {
            index = _nodeNames.Count;
            _nodes.Add(name, index);
            _nodeNames.Add(name);
        }

        return new NodeId(index);
    }

    /// <summary>Declares a return. The first one of an island is its 0 V; another in the same island is an ordinary node.</summary>
    public void Return(NodeId node)
    {
        Check(node);
        if (!_returns.Contains(node))
            _returns.Add(node);
    }

    /// <summary>Slot: resistance, Ω, 0 and +∞ included. Current from a to b.</summary>
    public ElementId Resistor(string name, NodeId a, NodeId b) => Add(_ => new Resistor(name, a, b));

    /// <summary>Slot: capacitance, F. Open at direct current.</summary>
    public ElementId Capacitor(string name, NodeId a, NodeId b) => Add(_ => new Capacitor(name, a, b));

    /// <summary>Slot: inductance, H. A short at direct current. Current from a to b.</summary>
    public ElementId Inductor(string name, NodeId a, NodeId b) => Add(_ => new Inductor(name, a, b));

    /// <summary>Slot: voltage of plus above minus, V. Current out of plus into the network.</summary>
    public ElementId VoltageSource(string name, NodeId plus, NodeId minus) => Add(_ => new VoltageSource(name, plus, minus));

    /// <summary>Slot: current, A, out of <paramref name="to"/> into the network.</summary>
    public ElementId CurrentSource(string name, NodeId from, NodeId to) => Add(_ => new CurrentSource(name, from, to));

    /// <summary>No slot: 0 V between the two. Current from a to b.</summary>
    public ElementId Link(string name, NodeId a, NodeId b) => Add(_ => new Link(name, a, b));

    /// <summary>Slot: gain, V/V, from the voltage of controlPlus above controlMinus to that of plus above minus.</summary>
    public ElementId ControlledVoltage(string name, NodeId plus, NodeId minus, NodeId controlPlus, NodeId controlMinus) =>
        Add(_ => new ControlledVoltageSource(name, plus, minus, Control.Voltage(controlPlus, controlMinus)));

    /// <summary>Slot: transresistance, V/A, from an element's current.</summary>
    /// <exception cref="ArgumentException">The controlling element's current is no unknown: a current source or a capacitor.</exception>
    public ElementId ControlledVoltage(string name, NodeId plus, NodeId minus, ElementId control) =>
        Add(CurrentOf(control), element => new ControlledVoltageSource(name, plus, minus, element));

    /// <summary>Slot: transconductance, A/V; current out of <paramref name="to"/> into the network.</summary>
    public ElementId ControlledCurrent(string name, NodeId from, NodeId to, NodeId controlPlus, NodeId controlMinus) =>
        Add(_ => new ControlledCurrentSource(name, from, to, Control.Voltage(controlPlus, controlMinus)));

    /// <summary>Slot: gain, A/A, from an element's current.</summary>
    /// <exception cref="ArgumentException">The controlling element's current is no unknown: a current source or a capacitor.</exception>
    public ElementId ControlledCurrent(string name, NodeId from, NodeId to, ElementId control) =>
        Add(CurrentOf(control), element => new ControlledCurrentSource(name, from, to, element));

    /// <summary>Slots: <see cref="OpAmpSlot"/>. A supply left out sets no limit and stands at 0 V. Current out of the output.</summary>
    public ElementId OpAmp(string name, NodeId plus, NodeId minus, NodeId output, NodeId? positiveSupply = null, NodeId? negativeSupply = null) =>
        Add(_ => new OpAmp(name, plus, minus, output, positiveSupply, negativeSupply));

    /// <summary>Slots: <see cref="InstrumentationAmplifierSlot"/>. A supply left out sets no limit and stands at 0 V. Current out of the output.</summary>
    public ElementId InstrumentationAmplifier(
        string name, NodeId plus, NodeId minus, NodeId output, NodeId reference, NodeId? positiveSupply = null, NodeId? negativeSupply = null) =>
        Add(_ => new InstrumentationAmplifier(name, plus, minus, output, reference, positiveSupply, negativeSupply));

    /// <summary>Slots: <see cref="IsolationAmplifierSlot"/>. Current out of outputPlus, back into outputMinus.</summary>
    public ElementId IsolationAmplifier(string name, NodeId plus, NodeId minus, NodeId outputPlus, NodeId outputMinus) =>
        Add(_ => new IsolationAmplifier(name, plus, minus, outputPlus, outputMinus));

    /// <summary>Slots: <see cref="DiodeSlot"/>. Current from anode to cathode.</summary>
    public ElementId Diode(string name, NodeId anode, NodeId cathode) => Add(_ => new Diode(name, anode, cathode));

    /// <summary>Slots: <see cref="BipolarSlot"/>. Current into the collector, negative for a conducting pnp.</summary>
    public ElementId Bipolar(string name, NodeId collector, NodeId @base, NodeId emitter, bool isNpn) =>
        Add(_ => new Bipolar(name, collector, @base, emitter, isNpn));

    /// <summary>Slots: <see cref="ZenerSlot"/>. Current from anode to cathode, negative while it regulates.</summary>
    public ElementId Zener(string name, NodeId anode, NodeId cathode) => Add(_ => new Zener(name, anode, cathode));

    /// <summary>Slots: <see cref="FieldEffectSlot"/>. Current into the drain, negative for a conducting p-channel.</summary>
    public ElementId FieldEffect(string name, NodeId drain, NodeId gate, NodeId source, bool isNChannel) =>
        Add(_ => new FieldEffect(name, drain, gate, source, isNChannel));

    /// <summary>The network of what was added. A builder builds once.</summary>
    /// <exception cref="InvalidOperationException">It was built before.</exception>
    public Network Build()
    {
        if (_isBuilt)
            throw new InvalidOperationException("A builder builds one network.");
        _isBuilt = true;
        return new Network([.. _nodeNames], [.. _recipes], [.. _returns]);
    }

    private ElementId Add(int control, Func<Control, Element> create) => Add(elements => create(Control.Current(elements[control])));

    private ElementId Add(Func<IReadOnlyList<Element>, Element> recipe)
    {
        Element element = recipe(_elements);
        if (_isBuilt)
            throw new InvalidOperationException("The network is built.");
        foreach (int pin in element.Pins)
        {
            if (pin >= 0)
                Check(new NodeId(pin));
        }

        element.Index = _elements.Count;
        _elements.Add(element);
        _recipes.Add(recipe);
        return new ElementId(element.Index);
    }

    private int CurrentOf(ElementId control)
    {
        Element element = _elements[control.Index];
        return element.BranchCount > 0
            ? control.Index
            : throw new ArgumentException($"The current of {element.Name} is no unknown that could control a source.", nameof(control));
    }

    private void Check(NodeId node) => ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual((uint)node.Index, (uint)_nodeNames.Count, nameof(node));
}
