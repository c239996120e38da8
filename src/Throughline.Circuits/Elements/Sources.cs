namespace Throughline.Circuits;

/// <summary>Ideal voltage source; its current counts positive when it leaves the plus pin into the network.</summary>
internal sealed class VoltageSource(string name, NodeId plus, NodeId minus) : TwoPin(name, plus, minus)
{
    public override string Kind => "voltage source";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new("voltage", 0), new("noise density", 0), new("noise corner", 0)];

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        LoadOwn(w, 1, 0, -w.Drive * w.Values[FirstSlot]);
    }

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        LoadOwn(e, e.Constant(1), e.Constant(0), -e.Slot(FirstSlot));
    }

    public override double Current(Workspace w) => -w.X[Branch];

    public override Expr Current(BatchEquations e) => -e.X(Branch);

    public override void AddCurrentGradient(Workspace w, double[] gradient) => gradient[Branch] -= 1;

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        double density = w.Values[FirstSlot + (int)SourceSlot.Noise];
        if (density > 0)
            sources.Add(new NoiseSource(Index, "noise", density * density, w.Values[FirstSlot + (int)SourceSlot.NoiseCorner], [(Branch, 1)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives) =>
        derivatives[0] += adjoint[Branch];
}

/// <summary>Ideal current source.</summary>
internal sealed class CurrentSource(string name, NodeId from, NodeId to) : Element(name)
{
    private readonly int[] _pins = [from.Index, to.Index];
    private int _from;
    private int _to;

    public override string Kind => "current source";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new("current", 0), new("noise density", 0), new("noise corner", 0)];

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [];

    public override void Declare(EquationPattern pattern)
    {
        _from = pattern.Node(_pins[0]);
        _to = pattern.Node(_pins[1]);
    }

    public override void Load(Workspace w)
    {
        double current = w.Drive * w.Values[FirstSlot];
        w.AddCurrent(_from, current);
        w.AddCurrent(_to, -current);
    }

    public override void Load(BatchEquations e)
    {
        Expr current = e.Slot(FirstSlot);
        e.Add(_from, current);
        e.Add(_to, -current);
    }

    public override double Current(Workspace w) => w.Values[FirstSlot];

    public override Expr Current(BatchEquations e) => e.Slot(FirstSlot);

    public override void AddCurrentGradient(Workspace w, double[] gradient)
    {
    }

    public override double DirectCurrentDerivative(Workspace w) => 1;

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = w.Values[FirstSlot];
        amperes[1] = -w.Values[FirstSlot];
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        double density = w.Values[FirstSlot + (int)SourceSlot.Noise];
        if (density > 0)
            sources.Add(new NoiseSource(Index, "noise", density * density, w.Values[FirstSlot + (int)SourceSlot.NoiseCorner], [(_from, 1), (_to, -1)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives) =>
        derivatives[0] += adjoint[_to] - adjoint[_from];
}
