namespace Throughline.Circuits;

/// <summary>
/// Output pair = gain × (input pair + input offset) + output offset, held between the output's limits, behind the output resistance.
/// No current crosses: the two pairs are in islands of their own.
/// </summary>
internal sealed class IsolationAmplifier(string name, NodeId plus, NodeId minus, NodeId outputPlus, NodeId outputMinus) : Element(name)
{
    private readonly int[] _pins = [plus.Index, minus.Index, outputPlus.Index, outputMinus.Index];
    private readonly int[] _nodes = new int[4];
    private readonly int[] _own = new int[5];
    private readonly int[] _input = new int[4];
    private int _plusEntry;
    private int _minusEntry;

    public override string Kind => "isolation amplifier";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("gain", 1), new("input offset voltage", 0), new("output offset voltage", 0), new("input resistance", double.PositiveInfinity),
        new("output resistance", 0), new("least input voltage", double.NegativeInfinity), new("greatest input voltage", double.PositiveInfinity),
        new("least output voltage", double.NegativeInfinity), new("greatest output voltage", double.PositiveInfinity),
        new("bandwidth", double.PositiveInfinity), new("input noise density", 0), new("input noise corner", 0),
    ];

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [(2, 3)];

    public override int BranchCount => 1;

    public override int ModeCount => 1;

    public override int StorageCount => 1;

    public AmplifierState StateOf(Workspace w) => (AmplifierState)w.Modes[Mode];

    public override void Declare(EquationPattern pattern)
    {
        for (int k = 0; k < 4; k++)
            _nodes[k] = pattern.Node(_pins[k]);
        for (int k = 0; k < 4; k++)
            _own[k] = pattern.Entry(Branch, _nodes[k]);
        _own[4] = pattern.Entry(Branch, Branch);
        _plusEntry = pattern.Entry(_nodes[2], Branch);
        _minusEntry = pattern.Entry(_nodes[3], Branch);
        for (int k = 0; k < 4; k++)
            _input[k] = pattern.Entry(_nodes[k >> 1], _nodes[k & 1]);
    }

    public override void Start(Workspace w) => w.Modes[Mode] = (int)AmplifierState.Linear;

    public override void Load(Workspace w)
    {
        double[] x = w.X;
        double current = x[Branch];
        w.Matrix[_plusEntry] -= 1;
        w.Matrix[_minusEntry] += 1;
        w.AddCurrent(_nodes[2], -current);
        w.AddCurrent(_nodes[3], current);

        double conductance = InputConductance(w);
        double through = conductance * (x[_nodes[0]] - x[_nodes[1]]);
        w.Matrix[_input[0]] += conductance;
        w.Matrix[_input[1]] -= conductance;
        w.Matrix[_input[2]] -= conductance;
        w.Matrix[_input[3]] += conductance;
        w.AddCurrent(_nodes[0], through);
        w.AddCurrent(_nodes[1], -through);

        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        AmplifierState state = StateOf(w);
        double scale = Scale(w);
        double gain = state == AmplifierState.Linear ? scale * values[0] : 0;
        double constant = state switch
        {
            AmplifierState.AtPositiveLimit => scale * values[(int)IsolationAmplifierSlot.OutputHigh],
            AmplifierState.AtNegativeLimit => scale * values[(int)IsolationAmplifierSlot.OutputLow],
            _ => (gain * values[(int)IsolationAmplifierSlot.InputOffset]) + (scale * values[(int)IsolationAmplifierSlot.OutputOffset]),
        };
        double resistance = scale * values[(int)IsolationAmplifierSlot.OutputResistance];
        w.Matrix[_own[0]] += gain;
        w.Matrix[_own[1]] -= gain;
        w.Matrix[_own[2]] -= scale;
        w.Matrix[_own[3]] += scale;
        w.Matrix[_own[4]] -= resistance;
        w.Residual[Branch] += (gain * (x[_nodes[0]] - x[_nodes[1]])) - (scale * (x[_nodes[2]] - x[_nodes[3]])) - (resistance * current) + constant;
        w.Magnitude[Branch] += (Math.Abs(gain) * (Math.Abs(x[_nodes[0]]) + Math.Abs(x[_nodes[1]])))
            + (scale * (Math.Abs(x[_nodes[2]]) + Math.Abs(x[_nodes[3]]))) + Math.Abs(resistance * current) + Math.Abs(constant);
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double target = (values[0] * (w.X[_nodes[0]] - w.X[_nodes[1]] + values[(int)IsolationAmplifierSlot.InputOffset]))
            + values[(int)IsolationAmplifierSlot.OutputOffset];
        AmplifierState wanted = target > values[(int)IsolationAmplifierSlot.OutputHigh] ? AmplifierState.AtPositiveLimit
            : target < values[(int)IsolationAmplifierSlot.OutputLow] ? AmplifierState.AtNegativeLimit
            : AmplifierState.Linear;
        if (wanted == StateOf(w))
            return Advance.Settled;
        if (!maySwitch)
            return Advance.WouldSwitch;
        w.Modes[Mode] = (int)wanted;
        return Advance.Switched;
    }

    public override void AddStorages(Workspace w, List<Storage> storages)
    {
        if (StateOf(w) == AmplifierState.Linear && CreateStorage(w) is { } storage)
            storages.Add(storage);
    }

    /// <summary>The output trails its target held between the limits, so the lag acts in every piece.</summary>
    public override Storage? CreateStorage(Workspace w)
    {
        double seconds = 1 / (2 * Math.PI * w.Values[FirstSlot + (int)IsolationAmplifierSlot.Bandwidth]);
        double resistance = w.Values[FirstSlot + (int)IsolationAmplifierSlot.OutputResistance];
        return seconds > 0 ? new Storage(-seconds * Scale(w), [(Branch, 1)], [(_nodes[2], 1), (_nodes[3], -1), (Branch, resistance)]) : null;
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        double density = w.Values[FirstSlot + (int)IsolationAmplifierSlot.InputNoise];
        if (density > 0 && StateOf(w) == AmplifierState.Linear)
        {
            double corner = w.Values[FirstSlot + (int)IsolationAmplifierSlot.InputNoiseCorner];
            sources.Add(new NoiseSource(Index, "voltage noise", density * density, corner, [(Branch, w.Values[FirstSlot] * Scale(w))]));
        }
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = InputConductance(w) * (w.X[_nodes[0]] - w.X[_nodes[1]]);
        amperes[1] = -amperes[0];
        amperes[2] = -w.X[Branch];
        amperes[3] = w.X[Branch];
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double own = -adjoint[Branch] * Scale(w);
        double input = w.X[_nodes[0]] - w.X[_nodes[1]];
        double conductance = InputConductance(w);
        derivatives[(int)IsolationAmplifierSlot.InputResistance] += (adjoint[_nodes[0]] - adjoint[_nodes[1]]) * input * conductance * conductance;
        derivatives[(int)IsolationAmplifierSlot.OutputResistance] -= own * w.X[Branch];
        switch (StateOf(w))
        {
            case AmplifierState.Linear:
                derivatives[(int)IsolationAmplifierSlot.Gain] += own * (input + values[(int)IsolationAmplifierSlot.InputOffset]);
                derivatives[(int)IsolationAmplifierSlot.InputOffset] += own * values[0];
                derivatives[(int)IsolationAmplifierSlot.OutputOffset] += own;
                break;
            case AmplifierState.AtPositiveLimit:
                derivatives[(int)IsolationAmplifierSlot.OutputHigh] += own;
                break;
            default:
                derivatives[(int)IsolationAmplifierSlot.OutputLow] += own;
                break;
        }
    }

    private double InputConductance(Workspace w) => 1 / w.Values[FirstSlot + (int)IsolationAmplifierSlot.InputResistance];

    private double Scale(Workspace w) => 1 / Math.Max(1, Math.Abs(w.Values[FirstSlot]));

    public override void Load(BatchEquations e)
    {
        e.Add(_nodes[2], Branch, -1);
        e.Add(_nodes[3], Branch, 1);
        Expr conductance = 1 / e.Slot(FirstSlot + (int)IsolationAmplifierSlot.InputResistance);
        e.Add(_nodes[0], _nodes[0], conductance);
        e.Add(_nodes[0], _nodes[1], -conductance);
        e.Add(_nodes[1], _nodes[0], -conductance);
        e.Add(_nodes[1], _nodes[1], conductance);

        var state = (AmplifierState)e.Mode(Mode);
        Expr slope = e.Slot(FirstSlot);
        double scale = 1 / Math.Max(1, Math.Abs(slope.Nominal));
        Expr gain = state == AmplifierState.Linear ? slope * scale : e.Constant(0);
        Expr constant = state switch
        {
            AmplifierState.AtPositiveLimit => e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputHigh) * scale,
            AmplifierState.AtNegativeLimit => e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputLow) * scale,
            _ => (gain * e.Slot(FirstSlot + (int)IsolationAmplifierSlot.InputOffset)) + (e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputOffset) * scale),
        };
        e.Add(Branch, _nodes[0], gain);
        e.Add(Branch, _nodes[1], -gain);
        e.Add(Branch, _nodes[2], -scale);
        e.Add(Branch, _nodes[3], scale);
        e.Add(Branch, Branch, e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputResistance) * -scale);
        e.Add(Branch, constant);
    }

    public override void Confine(BatchEquations e)
    {
        if (!e.ChecksLimits || !e.IsHeld[Branch])
            return;
        Expr high = e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputHigh);
        Expr low = e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputLow);
        Expr Target() => (e.Slot(FirstSlot) * (e.X(_nodes[0]) - e.X(_nodes[1]) + e.Slot(FirstSlot + (int)IsolationAmplifierSlot.InputOffset)))
            + e.Slot(FirstSlot + (int)IsolationAmplifierSlot.OutputOffset);
        var state = (AmplifierState)e.Mode(Mode);
        if (state == AmplifierState.AtPositiveLimit)
            e.Require(Target() > high);
        else if (state == AmplifierState.AtNegativeLimit)
            e.Require(Target() < low);
        if (state != AmplifierState.AtPositiveLimit && !IsUnlimited(high))
            e.Require(Target() <= high);
        if (state == AmplifierState.Linear && !IsUnlimited(low))
            e.Require(Target() >= low);
    }

    private static bool IsUnlimited(Expr limit) => limit.IsConstant && double.IsInfinity(limit.Nominal);
}
