namespace Throughline.Circuits;

/// <summary>Open at direct current.</summary>
internal sealed class Capacitor(string name, NodeId first, NodeId second) : Element(name)
{
    private readonly int[] _pins = [first.Index, second.Index];

    public override string Kind => "capacitor";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new("capacitance", 1e-9)];

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [];

    public int FirstUnknown { get; private set; }

    public int SecondUnknown { get; private set; }

    public override void Declare(EquationPattern pattern)
    {
        FirstUnknown = pattern.Node(_pins[0]);
        SecondUnknown = pattern.Node(_pins[1]);
        foreach (int row in (int[])[FirstUnknown, SecondUnknown])
        {
            pattern.Entry(row, FirstUnknown);
            pattern.Entry(row, SecondUnknown);
        }
    }

    public override int StorageCount => 1;

    public override void AddStorages(Workspace w, List<Storage> storages) => storages.Add(CreateStorage(w));

    public override Storage CreateStorage(Workspace w) =>
        new(w.Values[FirstSlot], [(FirstUnknown, 1), (SecondUnknown, -1)], [(FirstUnknown, 1), (SecondUnknown, -1)]);

    public override void Load(Workspace w)
    {
    }

    public override double Current(Workspace w) => w.Values[FirstSlot] * w.Rates[Storage];

    public override void AddCurrentGradient(Workspace w, double[] gradient)
    {
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = Current(w);
        amperes[1] = -amperes[0];
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
    }

    public override void Load(BatchEquations e)
    {
    }

    public override Expr Current(BatchEquations e) => e.Constant(0);
}
