namespace Throughline.Circuits;

/// <summary>What controls a source: a voltage between two nodes, or the current of another element.</summary>
internal readonly record struct Control(int Plus, int Minus, Element? Element)
{
    /// <summary>The unknown that controls; that of 0 V when the controlling element has come off.</summary>
    public int Unknown(EquationPattern pattern) =>
        Element is null ? pattern.Node(Plus) : Element.CurrentUnknown >= 0 ? Element.CurrentUnknown : pattern.Unknowns;

    public static Control Voltage(NodeId plus, NodeId minus) => new(plus.Index, minus.Index, null);

    public static Control Current(Element element) => new(-1, -1, element);
}

/// <summary>A voltage source of <c>gain × control</c>; its current counts positive when it leaves the plus pin into the network.</summary>
internal sealed class ControlledVoltageSource(string name, NodeId plus, NodeId minus, Control control) : TwoPin(name, plus, minus)
{
    private int _controlPlus;
    private int _controlMinus;
    private int _ownControlPlus;
    private int _ownControlMinus;

    public override string Kind => "controlled voltage source";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new(control.Element is null ? "gain" : "transresistance", 1)];

    public override void Declare(EquationPattern pattern)
    {
        base.Declare(pattern);
        _controlPlus = control.Unknown(pattern);
        _controlMinus = control.Element is null ? pattern.Node(control.Minus) : pattern.Unknowns;
        _ownControlPlus = pattern.Entry(Branch, _controlPlus);
        _ownControlMinus = pattern.Entry(Branch, _controlMinus);
    }

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        double gain = w.Values[FirstSlot] * Sign;
        double scale = 1 / Math.Max(1, Math.Abs(gain));
        double toPlus = -gain * scale;
        LoadOwn(w, scale, 0, toPlus * (w.X[_controlPlus] - w.X[_controlMinus]));
        w.Matrix[_ownControlPlus] += toPlus;
        w.Matrix[_ownControlMinus] -= toPlus;
    }

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        Expr gain = e.Slot(FirstSlot) * Sign;
        double scale = 1 / Math.Max(1, Math.Abs(gain.Nominal));
        LoadOwn(e, e.Constant(scale), e.Constant(0), e.Constant(0));
        e.Add(Branch, _controlPlus, gain * -scale);
        e.Add(Branch, _controlMinus, gain * scale);
    }

    public override double Current(Workspace w) => -w.X[Branch];

    public override Expr Current(BatchEquations e) => -e.X(Branch);

    public override void AddCurrentGradient(Workspace w, double[] gradient) => gradient[Branch] -= 1;

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double scale = 1 / Math.Max(1, Math.Abs(w.Values[FirstSlot]));
        derivatives[0] += adjoint[Branch] * scale * Sign * (w.X[_controlPlus] - w.X[_controlMinus]);
    }

    // The current of a voltage source counts against its unknown.
    private double Sign => control.Element is VoltageSource or ControlledVoltageSource ? -1 : 1;
}

/// <summary>A current source of <c>gain × control</c>, out of its second pin into the network.</summary>
internal sealed class ControlledCurrentSource(string name, NodeId from, NodeId to, Control control) : Element(name)
{
    private readonly int[] _pins = [from.Index, to.Index];
    private int _from;
    private int _to;
    private int _controlPlus;
    private int _controlMinus;
    private int _fromPlus;
    private int _fromMinus;
    private int _toPlus;
    private int _toMinus;

    public override string Kind => "controlled current source";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new(control.Element is null ? "transconductance" : "gain", 1)];

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [];

    public override void Declare(EquationPattern pattern)
    {
        _from = pattern.Node(_pins[0]);
        _to = pattern.Node(_pins[1]);
        _controlPlus = control.Unknown(pattern);
        _controlMinus = control.Element is null ? pattern.Node(control.Minus) : pattern.Unknowns;
        _fromPlus = pattern.Entry(_from, _controlPlus);
        _fromMinus = pattern.Entry(_from, _controlMinus);
        _toPlus = pattern.Entry(_to, _controlPlus);
        _toMinus = pattern.Entry(_to, _controlMinus);
    }

    public override void Load(Workspace w)
    {
        double gain = w.Values[FirstSlot] * Sign;
        double current = Current(w);
        w.AddCurrent(_from, current);
        w.AddCurrent(_to, -current);
        w.Matrix[_fromPlus] += gain;
        w.Matrix[_fromMinus] -= gain;
        w.Matrix[_toPlus] -= gain;
        w.Matrix[_toMinus] += gain;
    }

    public override void Load(BatchEquations e)
    {
        Expr gain = e.Slot(FirstSlot) * Sign;
        e.Add(_from, _controlPlus, gain);
        e.Add(_from, _controlMinus, -gain);
        e.Add(_to, _controlPlus, -gain);
        e.Add(_to, _controlMinus, gain);
    }

    public override double Current(Workspace w) => w.Values[FirstSlot] * Sign * (w.X[_controlPlus] - w.X[_controlMinus]);

    public override Expr Current(BatchEquations e) => e.Slot(FirstSlot) * Sign * (e.X(_controlPlus) - e.X(_controlMinus));

    public override void AddCurrentGradient(Workspace w, double[] gradient)
    {
        gradient[_controlPlus] += w.Values[FirstSlot] * Sign;
        gradient[_controlMinus] -= w.Values[FirstSlot] * Sign;
    }

    public override double DirectCurrentDerivative(Workspace w) => Sign * (w.X[_controlPlus] - w.X[_controlMinus]);

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = Current(w);
        amperes[1] = -amperes[0];
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives) =>
        derivatives[0] += (adjoint[_to] - adjoint[_from]) * Sign * (w.X[_controlPlus] - w.X[_controlMinus]);

    private double Sign => control.Element is VoltageSource or ControlledVoltageSource ? -1 : 1;
}
