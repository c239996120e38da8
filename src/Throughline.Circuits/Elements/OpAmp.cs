using System.Numerics;

namespace Throughline.Circuits;

/// <summary>
/// Operational amplifier: output = middle of the supplies (0 V without both) + gain × (plus − minus + offset + errors), behind its output resistance.
/// With infinite gain the sum in brackets is zero and the output takes what that needs.
/// </summary>
internal sealed class OpAmp(string name, NodeId plus, NodeId minus, NodeId output, NodeId? positive, NodeId? negative)
    : Amplifier(
        name, plus, minus, output, null, positive, negative,
        new AmplifierSlots(
            (int)OpAmpSlot.Offset, (int)OpAmpSlot.BiasPlus, (int)OpAmpSlot.BiasMinus, (int)OpAmpSlot.CommonModeError, (int)OpAmpSlot.SupplyError,
            (int)OpAmpSlot.NominalSupply, (int)OpAmpSlot.SwingBelowPositive, (int)OpAmpSlot.SwingAboveNegative, (int)OpAmpSlot.SourceCurrent,
            (int)OpAmpSlot.SinkCurrent, (int)OpAmpSlot.SupplyCurrent, (int)OpAmpSlot.Noise, (int)OpAmpSlot.NoiseCorner,
            (int)OpAmpSlot.NoiseCurrent, (int)OpAmpSlot.NoiseCurrentCorner, (int)OpAmpSlot.SlewRate))
{
    public override string Kind => "op amp";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("open-loop gain", double.PositiveInfinity), new("offset voltage", 0), new("bias current of the plus input", 0),
        new("bias current of the minus input", 0), new("common-mode error", 0), new("supply error", 0), new("nominal supply", 0),
        new("input resistance", double.PositiveInfinity), new("output resistance", 0), new("output swing below the positive supply", 0),
        new("output swing above the negative supply", 0), new("greatest source current", double.PositiveInfinity),
        new("greatest sink current", double.PositiveInfinity), new("input distance below the positive supply", 0),
        new("input distance above the negative supply", 0), new("supply current", 0), new("gain-bandwidth product", double.PositiveInfinity),
        new("slew rate", double.PositiveInfinity), new("voltage noise density", 0), new("voltage noise corner", 0), new("current noise density", 0),
        new("current noise corner", 0),
    ];

    public bool IsIdealAndLinear(Workspace w) => StateOf(w) == AmplifierState.Linear && double.IsPositiveInfinity(w.Values[FirstSlot]);

    protected override bool HasInputResistance => true;

    protected override double InputConductance(Workspace w) => 1 / w.Values[FirstSlot + (int)OpAmpSlot.InputResistance];

    /// <summary>1/A(f) = 1/A + j f / GBW: one dominant pole.</summary>
    public Complex OpenLoopGain(Workspace w, double hertz) =>
        1 / new Complex(1 / w.Values[FirstSlot], hertz / w.Values[FirstSlot + (int)OpAmpSlot.GainBandwidth]);

    /// <summary>Adds the output before its resistance, above the middle of the supplies, as a sum of unknowns.</summary>
    public void AddInternalOutput(Workspace w, double[] gradient) =>
        AddOutputBeforeResistance(w.Values[FirstSlot + (int)OpAmpSlot.OutputResistance], gradient);

    public double FactorOfInputs(Workspace w) => InputFactor(w);

    protected override (double Seconds, double Factor, double OutputResistance) Lag(Workspace w) =>
        (1 / (2 * Math.PI * w.Values[FirstSlot + (int)OpAmpSlot.GainBandwidth]), InputFactor(w), w.Values[FirstSlot + (int)OpAmpSlot.OutputResistance]);

    protected override double InputFactor(Workspace w)
    {
        double gain = w.Values[FirstSlot];
        return gain < 1 ? gain : 1;
    }

    protected override LinearLaw Law(Workspace w)
    {
        double gain = w.Values[FirstSlot];
        double resistance = w.Values[FirstSlot + (int)OpAmpSlot.OutputResistance];
        LinearLaw law = InputLaw(w, gain < 1 ? gain : 1);
        double inverse = gain < 1 ? 1 : Math.Max(1 / gain, w.InverseGain);
        law.Output = -inverse;
        law.Current = -inverse * resistance;
        if (HasBothSupplies)
        {
            law.Positive += 0.5 * inverse;
            law.Negative += 0.5 * inverse;
        }

        return law;
    }

    protected override void AddOwnSensitivities(Workspace w, double own, double inputSum, Span<double> derivatives)
    {
        double gain = w.Values[FirstSlot];
        double resistance = w.Values[FirstSlot + (int)OpAmpSlot.OutputResistance];
        double inverse = gain < 1 ? 1 : 1 / gain;
        double open = OutputVoltage(w) - (HasBothSupplies ? MiddleOfSupplies(w) : 0) + (resistance * w.X[Branch]);
        derivatives[(int)OpAmpSlot.Gain] -= gain < 1 ? own * inputSum : own * open * inverse * inverse;
        derivatives[(int)OpAmpSlot.OutputResistance] += own * inverse * w.X[Branch];
    }

    protected override void AddInputSensitivities(Workspace w, double adjointDifference, double volts, Span<double> derivatives)
    {
        double conductance = InputConductance(w);
        derivatives[(int)OpAmpSlot.InputResistance] += adjointDifference * volts * conductance * conductance;
    }

    protected override Expr InputConductance(BatchEquations e) => 1 / e.Slot(FirstSlot + (int)OpAmpSlot.InputResistance);

    protected override BatchLaw Law(BatchEquations e)
    {
        Expr gain = e.Slot(FirstSlot);
        bool isSmall = gain.Nominal < 1;
        BatchLaw law = InputLaw(e, isSmall ? gain : e.Constant(1));
        Expr inverse = isSmall ? e.Constant(1) : 1 / gain;
        AddOutput(law, -inverse, -(inverse * e.Slot(FirstSlot + (int)OpAmpSlot.OutputResistance)), e.Constant(0), 0.5 * inverse);
        return law;
    }

    public override void Confine(BatchEquations e)
    {
        base.Confine(e);
        Expr gain = e.Slot(FirstSlot);
        if (!gain.IsConstant && e.IsHeld[Branch])
            e.Require(gain.Nominal < 1 ? gain < 1 : gain >= 1);
    }
}
