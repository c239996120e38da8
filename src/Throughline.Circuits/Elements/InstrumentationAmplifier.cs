namespace Throughline.Circuits;

/// <summary>Output = reference + gain × (plus − minus + input offset + errors) + output offset; the reference pin draws nothing.</summary>
internal sealed class InstrumentationAmplifier(
    string name, NodeId plus, NodeId minus, NodeId output, NodeId reference, NodeId? positive, NodeId? negative)
    : Amplifier(
        name, plus, minus, output, reference, positive, negative,
        new AmplifierSlots(
            (int)InstrumentationAmplifierSlot.InputOffset, (int)InstrumentationAmplifierSlot.BiasPlus, (int)InstrumentationAmplifierSlot.BiasMinus,
            (int)InstrumentationAmplifierSlot.CommonModeError, (int)InstrumentationAmplifierSlot.SupplyError,
            (int)InstrumentationAmplifierSlot.NominalSupply, (int)InstrumentationAmplifierSlot.SwingBelowPositive,
            (int)InstrumentationAmplifierSlot.SwingAboveNegative, (int)InstrumentationAmplifierSlot.SourceCurrent,
            (int)InstrumentationAmplifierSlot.SinkCurrent, (int)InstrumentationAmplifierSlot.SupplyCurrent,
            (int)InstrumentationAmplifierSlot.InputNoise, (int)InstrumentationAmplifierSlot.InputNoiseCorner,
            (int)InstrumentationAmplifierSlot.NoiseCurrent, (int)InstrumentationAmplifierSlot.NoiseCurrentCorner,
            (int)InstrumentationAmplifierSlot.SlewRate))
{
    public override string Kind => "instrumentation amplifier";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("gain", 1), new("input offset voltage", 0), new("output offset voltage", 0), new("bias current of the plus input", 0),
        new("bias current of the minus input", 0), new("common-mode error", 0), new("supply error", 0), new("nominal supply", 0),
        new("output swing below the positive supply", 0), new("output swing above the negative supply", 0),
        new("greatest source current", double.PositiveInfinity), new("greatest sink current", double.PositiveInfinity),
        new("input distance below the positive supply", 0), new("input distance above the negative supply", 0), new("supply current", 0),
        new("bandwidth", double.PositiveInfinity), new("slew rate", double.PositiveInfinity), new("input noise density", 0), new("input noise corner", 0),
        new("current noise density", 0), new("current noise corner", 0), new("output noise density", 0),
    ];

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        base.AddNoise(w, sources);
        double output = w.Values[FirstSlot + (int)InstrumentationAmplifierSlot.OutputNoise];
        if (output > 0 && StateOf(w) == AmplifierState.Linear)
            sources.Add(new NoiseSource(Index, "output noise", output * output, 0, [(Branch, Scale(w))]));
    }

    protected override (double Seconds, double Factor, double OutputResistance) Lag(Workspace w) =>
        (1 / (2 * Math.PI * w.Values[FirstSlot + (int)InstrumentationAmplifierSlot.Bandwidth]), Scale(w), 0);

    protected override double InputFactor(Workspace w) => w.Values[FirstSlot] * Scale(w);

    protected override LinearLaw Law(Workspace w)
    {
        double scale = Scale(w);
        LinearLaw law = InputLaw(w, w.Values[FirstSlot] * scale);
        law.Output = -scale;
        law.Reference = scale;
        law.Constant += scale * w.Values[FirstSlot + (int)InstrumentationAmplifierSlot.OutputOffset];
        return law;
    }

    protected override void AddOwnSensitivities(Workspace w, double own, double inputSum, Span<double> derivatives)
    {
        double scale = Scale(w);
        derivatives[(int)InstrumentationAmplifierSlot.Gain] -= own * scale * inputSum;
        derivatives[(int)InstrumentationAmplifierSlot.OutputOffset] -= own * scale;
    }

    private double Scale(Workspace w) => 1 / Math.Max(1, Math.Abs(w.Values[FirstSlot]));

    protected override BatchLaw Law(BatchEquations e)
    {
        Expr gain = e.Slot(FirstSlot);
        double scale = 1 / Math.Max(1, Math.Abs(gain.Nominal));
        BatchLaw law = InputLaw(e, gain * scale);
        AddOutput(law, e.Constant(-scale), e.Constant(0), e.Constant(scale), e.Constant(0));
        law.Constant += e.Slot(FirstSlot + (int)InstrumentationAmplifierSlot.OutputOffset) * scale;
        return law;
    }
}
