namespace Throughline.Circuits;

/// <summary>An element that has come off: its numbers keep their slots so that the values of the sound network still fit, and nothing of it acts.</summary>
internal sealed class Absent(Element sound) : Element(sound.Name)
{
    public override string Kind => sound.Kind;

    public override IReadOnlyList<SlotDefinition> Slots => sound.Slots;

    public override IReadOnlyList<int> Pins => sound.Pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [];

    public bool WasAmplifier => sound is Amplifier or IsolationAmplifier;

    public override void Declare(EquationPattern pattern)
    {
    }

    public override void Load(Workspace w)
    {
    }

    public override double Current(Workspace w) => 0;

    public override void AddCurrentGradient(Workspace w, double[] gradient)
    {
    }

    public override void PinCurrents(Workspace w, Span<double> amperes) => amperes.Clear();

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
    }

    public override void Load(BatchEquations e)
    {
    }

    public override Expr Current(BatchEquations e) => e.Constant(0);
}
