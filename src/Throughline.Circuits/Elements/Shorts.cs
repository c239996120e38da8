namespace Throughline.Circuits;

/// <summary>Two nodes made one, with the current between them as an unknown.</summary>
internal sealed class Link(string name, NodeId first, NodeId second) : TwoPin(name, first, second)
{
    public override string Kind => "link";

    public override IReadOnlyList<SlotDefinition> Slots => [];

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        LoadOwn(w, 1, 0, 0);
    }

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        LoadOwn(e, e.Constant(1), e.Constant(0), e.Constant(0));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
    }
}

/// <summary>A short at direct current.</summary>
internal sealed class Inductor(string name, NodeId first, NodeId second) : TwoPin(name, first, second)
{
    public override string Kind => "inductor";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new("inductance", 1e-3)];

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        LoadOwn(w, 1, 0, 0);
    }

    public override int StorageCount => 1;

    public override void AddStorages(Workspace w, List<Storage> storages) => storages.Add(CreateStorage(w));

    public override Storage CreateStorage(Workspace w) => new(-w.Values[FirstSlot], [(Branch, 1)], [(Branch, 1)]);

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        LoadOwn(e, e.Constant(1), e.Constant(0), e.Constant(0));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
    }
}
