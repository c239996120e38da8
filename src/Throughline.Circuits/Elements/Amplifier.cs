namespace Throughline.Circuits;

/// <summary>Where an amplifier's shared numbers stand among its slots.</summary>
internal readonly record struct AmplifierSlots(
    int Offset, int BiasPlus, int BiasMinus, int CommonModeError, int SupplyError, int NominalSupply,
    int SwingBelowPositive, int SwingAboveNegative, int SourceCurrent, int SinkCurrent, int SupplyCurrent,
    int Noise, int NoiseCorner, int NoiseCurrent, int NoiseCurrentCorner, int SlewRate);

/// <summary>
/// What amplifiers with supply pins have in common. The input errors add to the input difference; the output follows its target, held between its
/// distances from the supplies, as a voltage source that gives at most the source current and takes at most the sink current. That is five pieces: linear,
/// at either limit, sourcing, sinking. Bias currents leave by the negative supply, the output current comes from the supply on its side.
/// A supply left out stands at 0 V of the island's return and sets no limit.
/// </summary>
internal abstract class Amplifier : Element
{
    private const int FromPositive = 0;
    private const int FromNegative = 1;

    private readonly int[] _pins;
    private readonly AmplifierSlots _slots;
    private readonly bool _hasPositive;
    private readonly bool _hasNegative;
    private readonly int[] _own = new int[7];
    private readonly int[] _input = new int[4];
    private int _outputEntry;
    private int _positiveEntry;
    private int _negativeEntry;

    protected Amplifier(string name, NodeId plus, NodeId minus, NodeId output, NodeId? reference, NodeId? positive, NodeId? negative, AmplifierSlots slots)
        : base(name)
    {
        int positivePin = positive?.Index ?? -1;
        int negativePin = negative?.Index ?? -1;
        _pins = reference is { } node
            ? [plus.Index, minus.Index, output.Index, node.Index, positivePin, negativePin]
            : [plus.Index, minus.Index, output.Index, positivePin, negativePin];
        HasReference = reference is not null;
        _hasPositive = positive is not null;
        _hasNegative = negative is not null;
        _slots = slots;
    }

    public override IReadOnlyList<int> Pins => _pins;

    /// <summary>True when the output must be given a return by its surroundings since it has no supply pin.</summary>
    public bool HasNoSupply => !_hasPositive && !_hasNegative;

    public bool HasReference { get; }

    /// <summary>True when the output may act on the inputs the wrong way round; said by the network when it is built.</summary>
    public bool MayLatch { get; set; }

    public override IReadOnlyList<(int First, int Second)> Paths
    {
        get
        {
            int positive = HasReference ? 4 : 3;
            var paths = new List<(int, int)>(2);
            if (_hasPositive)
                paths.Add((2, positive));
            if (_hasNegative)
                paths.Add((2, positive + 1));
            return paths;
        }
    }

    public override int BranchCount => 1;

    /// <summary>The piece of its law, the supply that its output current comes from, the direction in which its output moves at its greatest rate, and
    /// whether its limits have collapsed into one.</summary>
    public override int ModeCount => 4;

    public override int StorageCount => 1;

    protected bool HasBothSupplies => _hasPositive && _hasNegative;

    private int Plus { get; set; }

    private int Minus { get; set; }

    private int Output { get; set; }

    private int Reference { get; set; }

    private int Positive { get; set; }

    private int Negative { get; set; }

    /// <summary>Node whose balance takes back the bias currents.</summary>
    private int BiasReturn => _hasNegative ? Negative : Positive;

    public AmplifierState StateOf(Workspace w) => (AmplifierState)w.Modes[Mode];

    /// <summary>Voltage of the output above 0 V of its island, V.</summary>
    public double OutputVoltage(Workspace w) => w.X[Output];

    /// <summary>Greatest current that its inputs may drive, A.</summary>
    public double BiasMagnitude(Workspace w) =>
        Math.Abs(w.Values[FirstSlot + _slots.BiasPlus]) + Math.Abs(w.Values[FirstSlot + _slots.BiasMinus]);

    public override void Declare(EquationPattern pattern)
    {
        Plus = pattern.Node(_pins[0]);
        Minus = pattern.Node(_pins[1]);
        Output = pattern.Node(_pins[2]);
        Reference = pattern.Node(HasReference ? _pins[3] : -1);
        Positive = pattern.Node(_pins[^2]);
        Negative = pattern.Node(_pins[^1]);
        _outputEntry = pattern.Entry(Output, Branch);
        _positiveEntry = pattern.Entry(Positive, Branch);
        _negativeEntry = pattern.Entry(Negative, Branch);
        ReadOnlySpan<int> columns = [Plus, Minus, Output, Reference, Positive, Negative, Branch];
        for (int k = 0; k < columns.Length; k++)
            _own[k] = pattern.Entry(Branch, columns[k]);
        if (!HasInputResistance)
            return;
        _input[0] = pattern.Entry(Plus, Plus);
        _input[1] = pattern.Entry(Plus, Minus);
        _input[2] = pattern.Entry(Minus, Plus);
        _input[3] = pattern.Entry(Minus, Minus);
    }

    public override void Start(Workspace w)
    {
        w.Modes[Mode] = (int)AmplifierState.Linear;
        w.Modes[Mode + 1] = FromPositive;
        w.Modes[Mode + 2] = 0;
        w.Modes[Mode + 3] = 0;
    }

    public override void Load(Workspace w)
    {
        LoadCurrents(w);
        double[] x = w.X;
        double output = x[Output];
        double current = x[Branch];
        switch (StateOf(w))
        {
            case AmplifierState.Linear when IsSlewing(w):
                break;
            case AmplifierState.Linear:
                LinearLaw law = Law(w);
                w.Matrix[_own[0]] += law.Plus;
                w.Matrix[_own[1]] += law.Minus;
                w.Matrix[_own[2]] += law.Output;
                w.Matrix[_own[3]] += law.Reference;
                w.Matrix[_own[4]] += law.Positive;
                w.Matrix[_own[5]] += law.Negative;
                w.Matrix[_own[6]] += law.Current;
                w.Residual[Branch] += Drive(w, law, out double magnitude);
                w.Magnitude[Branch] += magnitude;
                break;
            case AmplifierState.AtPositiveLimit:
            case AmplifierState.AtNegativeLimit:
                LoadLimit(w, output);
                break;
            case AmplifierState.Sourcing:
                LoadConstantCurrent(w, current, w.Values[FirstSlot + _slots.SourceCurrent]);
                break;
            default:
                LoadConstantCurrent(w, current, -w.Values[FirstSlot + _slots.SinkCurrent]);
                break;
        }
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        int side = w.Modes[Mode + 1];
        double current = w.X[Branch];
        int wantedSide = current > 0 ? FromPositive : current < 0 ? FromNegative : side;
        AmplifierState state = StateOf(w);
        AmplifierState wanted = WantedState(w, state);
        if (wanted != state && !maySwitch)
            return Advance.WouldSwitch;
        int slew = wanted == state && state == AmplifierState.Linear ? WantedSlew(w) : 0;
        bool isSlewNew = w.StageGain > 0 && slew != w.Modes[Mode + 2] && wanted == state;
        if (isSlewNew && !maySwitch)
            return Advance.WouldSwitch;
        w.Modes[Mode] = (int)wanted;
        w.Modes[Mode + 1] = wantedSide;
        w.Modes[Mode + 2] = slew;
        int collapsed = Highest(w) < Lowest(w) ? 1 : 0;
        bool isSame = wantedSide == side && collapsed == w.Modes[Mode + 3];
        w.Modes[Mode + 3] = collapsed;
        if (wanted != state || isSlewNew)
            return Advance.Switched;
        return isSame ? Advance.Settled : Advance.Moved;
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        double current = w.X[Branch];
        double biasPlus = w.Values[FirstSlot + _slots.BiasPlus];
        double biasMinus = w.Values[FirstSlot + _slots.BiasMinus];
        double through = InputConductance(w) * (w.X[Plus] - w.X[Minus]);
        double supply = w.Values[FirstSlot + _slots.SupplyCurrent];
        bool fromPositive = w.Modes[Mode + 1] == FromPositive;
        amperes.Clear();
        amperes[0] = biasPlus + through;
        amperes[1] = biasMinus - through;
        amperes[2] = -current;
        amperes[^2] = supply + (fromPositive ? current : 0);
        amperes[^1] = -supply + (fromPositive ? 0 : current);
        amperes[_hasNegative ? ^1 : ^2] -= biasPlus + biasMinus;
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double bias = adjoint[BiasReturn];
        derivatives[_slots.BiasPlus] += bias - adjoint[Plus];
        derivatives[_slots.BiasMinus] += bias - adjoint[Minus];
        derivatives[_slots.SupplyCurrent] += adjoint[Negative] - adjoint[Positive];
        AddInputSensitivities(w, adjoint[Plus] - adjoint[Minus], w.X[Plus] - w.X[Minus], derivatives);
        double own = adjoint[Branch];
        switch (StateOf(w))
        {
            case AmplifierState.Linear:
                AddErrorSensitivities(w, own, derivatives);
                break;
            case AmplifierState.Sourcing:
                derivatives[_slots.SourceCurrent] += own;
                break;
            case AmplifierState.Sinking:
                derivatives[_slots.SinkCurrent] -= own;
                break;
            case AmplifierState.AtPositiveLimit:
            case AmplifierState.AtNegativeLimit:
                LimitWeights(w, out double high, out double low);
                derivatives[_slots.SwingBelowPositive] -= high * own;
                derivatives[_slots.SwingAboveNegative] += low * own;
                break;
        }
    }

    public override void AddStorages(Workspace w, List<Storage> storages)
    {
        if (StateOf(w) == AmplifierState.Linear && Lag(w).Seconds > 0 && CreateStorage(w) is { } storage)
            storages.Add(storage);
    }

    /// <summary>The output before its resistance; of an amplifier without a lag too where its rate is limited.</summary>
    public override Storage? CreateStorage(Workspace w)
    {
        var lag = Lag(w);
        return lag.Seconds > 0 || double.IsFinite(SlewRate(w))
            ? new Storage(-lag.Seconds * lag.Factor, [(Branch, 1)], OutputBeforeResistance(lag.OutputResistance))
            : null;
    }

    public override StorageMotion MotionOf(Workspace w) => StateOf(w) != AmplifierState.Linear ? StorageMotion.Idle
        : w.Modes[Mode + 2] switch { > 0 => StorageMotion.FullRateUp, < 0 => StorageMotion.FullRateDown, _ => StorageMotion.Free };

    /// <summary>Greatest rate of the output, V/s, above 0.</summary>
    public double SlewRate(Workspace w) => w.Values[FirstSlot + _slots.SlewRate];

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double current = values[_slots.NoiseCurrent];
        double corner = values[_slots.NoiseCurrentCorner];
        if (current > 0)
        {
            sources.Add(new NoiseSource(Index, "current noise at the plus input", current * current, corner, [(Plus, 1), (BiasReturn, -1)]));
            sources.Add(new NoiseSource(Index, "current noise at the minus input", current * current, corner, [(Minus, 1), (BiasReturn, -1)]));
        }

        double voltage = values[_slots.Noise];
        if (voltage > 0 && StateOf(w) == AmplifierState.Linear)
            sources.Add(new NoiseSource(Index, "voltage noise", voltage * voltage, values[_slots.NoiseCorner], [(Branch, InputFactor(w))]));
    }

    public override void Load(BatchEquations e)
    {
        e.Add(Output, Branch, -1);
        e.Add(e.Mode(Mode + 1) == FromPositive ? Positive : Negative, Branch, 1);
        Expr supply = e.Slot(FirstSlot + _slots.SupplyCurrent);
        e.Add(Positive, supply);
        e.Add(Negative, -supply);
        Expr biasPlus = e.Slot(FirstSlot + _slots.BiasPlus);
        Expr biasMinus = e.Slot(FirstSlot + _slots.BiasMinus);
        e.Add(Plus, biasPlus);
        e.Add(Minus, biasMinus);
        e.Add(BiasReturn, -(biasPlus + biasMinus));
        if (HasInputResistance)
        {
            Expr conductance = InputConductance(e);
            e.Add(Plus, Plus, conductance);
            e.Add(Plus, Minus, -conductance);
            e.Add(Minus, Plus, -conductance);
            e.Add(Minus, Minus, conductance);
        }

        switch ((AmplifierState)e.Mode(Mode))
        {
            case AmplifierState.Linear:
                BatchLaw law = Law(e);
                foreach ((int unknown, Expr coefficient) in law.Coefficients)
                    e.Add(Branch, unknown, coefficient);
                e.Add(Branch, law.Constant);
                break;
            case AmplifierState.AtPositiveLimit:
            case AmplifierState.AtNegativeLimit:
                (double high, double low) = LimitWeights(e);
                e.Add(Branch, Output, 1);
                e.Add(Branch, Positive, -high);
                e.Add(Branch, Negative, -low);
                if (high > 0)
                    e.Add(Branch, e.Slot(FirstSlot + _slots.SwingBelowPositive) * high);
                if (low > 0)
                    e.Add(Branch, e.Slot(FirstSlot + _slots.SwingAboveNegative) * -low);
                break;
            case AmplifierState.Sourcing:
                e.Add(Branch, Branch, 1);
                e.Add(Branch, -e.Slot(FirstSlot + _slots.SourceCurrent));
                break;
            default:
                e.Add(Branch, Branch, 1);
                e.Add(Branch, e.Slot(FirstSlot + _slots.SinkCurrent));
                break;
        }
    }

    public override void Confine(BatchEquations e)
    {
        if (!e.IsHeld[Branch])
            return;
        bool fromPositive = e.Mode(Mode + 1) == FromPositive;
        // Which supply gives the output current only matters where a supply's balance is looked at.
        if (e.IsHeld[Positive] || e.IsHeld[Negative])
            e.Require(fromPositive ? e.X(Branch) >= 0 : e.X(Branch) <= 0);
        if (!e.ChecksLimits)
            return;
        var state = (AmplifierState)e.Mode(Mode);
        bool isLimited = state is AmplifierState.AtPositiveLimit or AmplifierState.AtNegativeLimit;
        if (isLimited && HasBothSupplies)
            e.Require(e.Mode(Mode + 3) != 0 ? Highest(e) < Lowest(e) : Highest(e) >= Lowest(e));
        if (state is AmplifierState.Linear or AmplifierState.Sourcing && _hasPositive)
            e.Require(e.X(Output) <= Highest(e));
        if (state is AmplifierState.Linear or AmplifierState.Sinking && _hasNegative)
            e.Require(e.X(Output) >= Lowest(e));
        if (state is AmplifierState.AtPositiveLimit or AmplifierState.Sourcing)
            e.Require(Drive(e) >= 0);
        else if (state is AmplifierState.AtNegativeLimit or AmplifierState.Sinking)
            e.Require(Drive(e) <= 0);
        Expr source = e.Slot(FirstSlot + _slots.SourceCurrent);
        if (state != AmplifierState.Sourcing && !IsUnlimited(source))
            e.Require(e.X(Branch) <= source);
        Expr sink = e.Slot(FirstSlot + _slots.SinkCurrent);
        if (state != AmplifierState.Sinking && !IsUnlimited(sink))
            e.Require(e.X(Branch) >= -sink);
    }

    /// <summary>True when there is a slot for the resistance between the inputs.</summary>
    protected virtual bool HasInputResistance => false;

    protected virtual double InputConductance(Workspace w) => 0;

    /// <summary>Coefficients of the linear law, whose value is positive when the output should rise.</summary>
    protected abstract LinearLaw Law(Workspace w);

    protected virtual Expr InputConductance(BatchEquations e) => e.Constant(0);

    /// <summary>The same for many units at once.</summary>
    protected abstract BatchLaw Law(BatchEquations e);

    /// <summary>Time by which the output trails its law: seconds per unit of the equation, the factor that the equation is written with, the resistance before the output.</summary>
    protected abstract (double Seconds, double Factor, double OutputResistance) Lag(Workspace w);

    /// <summary>Factor of the input difference in the law.</summary>
    protected abstract double InputFactor(Workspace w);

    /// <summary>Derivatives with respect to the slots that only the derived kind has, in the linear piece.</summary>
    protected abstract void AddOwnSensitivities(Workspace w, double own, double inputSum, Span<double> derivatives);

    protected virtual void AddInputSensitivities(Workspace w, double adjointDifference, double volts, Span<double> derivatives)
    {
    }

    /// <summary>The output before its resistance, above its reference or the middle of its supplies.</summary>
    protected (int Unknown, double Weight)[] OutputBeforeResistance(double ohms)
    {
        double middle = HasReference || !HasBothSupplies ? 0 : -0.5;
        return [(Output, 1), (Branch, ohms), (Reference, HasReference ? -1 : 0), (Positive, middle), (Negative, middle)];
    }

    protected void AddOutputBeforeResistance(double ohms, double[] gradient)
    {
        double middle = HasReference || !HasBothSupplies ? 0 : -0.5;
        gradient[Output] += 1;
        gradient[Branch] += ohms;
        gradient[Reference] -= HasReference ? 1 : 0;
        gradient[Positive] += middle;
        gradient[Negative] += middle;
    }

    protected double MiddleOfSupplies(Workspace w) => 0.5 * (w.X[Positive] + w.X[Negative]);

    /// <summary>The law of the inputs: factor × (plus − minus + offset + common-mode and supply errors).</summary>
    protected LinearLaw InputLaw(Workspace w, double factor)
    {
        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double halfError = 0.5 * values[_slots.CommonModeError];
        double supplyError = _hasPositive ? values[_slots.SupplyError] : 0;
        return new LinearLaw
        {
            Plus = factor * (1 + halfError),
            Minus = factor * (halfError - 1),
            Positive = factor * (supplyError - halfError),
            Negative = -factor * (supplyError + halfError),
            Constant = factor * (values[_slots.Offset] - (supplyError * values[_slots.NominalSupply])),
        };
    }

    protected BatchLaw InputLaw(BatchEquations e, Expr factor)
    {
        Expr halfError = 0.5 * e.Slot(FirstSlot + _slots.CommonModeError);
        Expr supplyError = _hasPositive ? e.Slot(FirstSlot + _slots.SupplyError) : e.Constant(0);
        var law = new BatchLaw(factor * (e.Slot(FirstSlot + _slots.Offset) - (supplyError * e.Slot(FirstSlot + _slots.NominalSupply))));
        law.Add(Plus, factor * (1 + halfError));
        law.Add(Minus, factor * (halfError - 1));
        law.Add(Positive, factor * (supplyError - halfError));
        law.Add(Negative, -(factor * (supplyError + halfError)));
        return law;
    }

    protected void AddOutput(BatchLaw law, Expr output, Expr current, Expr reference, Expr supplies)
    {
        law.Add(Output, output);
        law.Add(Branch, current);
        law.Add(Reference, reference);
        if (!HasBothSupplies)
            return;
        law.Add(Positive, supplies);
        law.Add(Negative, supplies);
    }

    /// <summary>With positive feedback nothing lies between the limits to stay at.</summary>
    private bool JumpsAcross(Workspace w) => MayLatch && w.JumpsAcross;

    private double Drive(Workspace w, in LinearLaw law, out double magnitude)
    {
        double[] x = w.X;
        double plus = law.Plus * x[Plus];
        double minus = law.Minus * x[Minus];
        double output = law.Output * x[Output];
        double reference = law.Reference * x[Reference];
        double positive = law.Positive * x[Positive];
        double negative = law.Negative * x[Negative];
        double current = law.Current * x[Branch];
        magnitude = Math.Abs(plus) + Math.Abs(minus) + Math.Abs(output) + Math.Abs(reference) + Math.Abs(positive) + Math.Abs(negative)
            + Math.Abs(current) + Math.Abs(law.Constant);
        return plus + minus + output + reference + positive + negative + current + law.Constant;
    }

    private Expr Drive(BatchEquations e)
    {
        BatchLaw law = Law(e);
        Expr sum = law.Constant;
        foreach ((int unknown, Expr coefficient) in law.Coefficients)
        {
            if (!coefficient.IsZero)
                sum += coefficient * e.X(unknown);
        }

        return sum;
    }

    private Expr Highest(BatchEquations e) => e.X(Positive) - e.Slot(FirstSlot + _slots.SwingBelowPositive);

    private Expr Lowest(BatchEquations e) => e.X(Negative) + e.Slot(FirstSlot + _slots.SwingAboveNegative);

    private (double High, double Low) LimitWeights(BatchEquations e)
    {
        bool isHigh = (AmplifierState)e.Mode(Mode) == AmplifierState.AtPositiveLimit;
        return e.Mode(Mode + 3) != 0 ? (0.5, 0.5) : isHigh ? (1, 0) : (0, 1);
    }

    private static bool IsUnlimited(Expr limit) => limit.IsConstant && double.IsPositiveInfinity(limit.Nominal);

    private bool IsSlewing(Workspace w) => w.StageGain > 0 && w.Modes[Mode + 2] != 0;

    /// <summary>
    /// The law asks for the rate that its lag gives it, and without a lag for whatever rate keeps it at zero. Beyond the greatest rate the output moves at that,
    /// until the law asks for less.
    /// </summary>
    private int WantedSlew(Workspace w)
    {
        double greatest = SlewRate(w);
        if (!(w.StageGain > 0) || double.IsPositiveInfinity(greatest))
            return 0;
        int slew = w.Modes[Mode + 2];
        if (slew == 0)
        {
            double rate = w.Rates[Storage];
            return rate > greatest * (1 + 1e-9) ? 1 : rate < -greatest * (1 + 1e-9) ? -1 : 0;
        }

        var lag = Lag(w);
        double drive = Drive(w, Law(w), out double magnitude) * slew;
        return drive < (lag.Seconds * lag.Factor * greatest) - (1e-13 * magnitude) ? 0 : slew;
    }

    private void LoadCurrents(Workspace w)
    {
        double current = w.X[Branch];
        w.Matrix[_outputEntry] -= 1;
        w.AddCurrent(Output, -current);
        if (w.Modes[Mode + 1] == FromPositive)
        {
            w.Matrix[_positiveEntry] += 1;
            w.AddCurrent(Positive, current);
        }
        else
        {
            w.Matrix[_negativeEntry] += 1;
            w.AddCurrent(Negative, current);
        }

        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double supply = values[_slots.SupplyCurrent];
        w.AddCurrent(Positive, supply);
        w.AddCurrent(Negative, -supply);
        double biasPlus = values[_slots.BiasPlus];
        double biasMinus = values[_slots.BiasMinus];
        w.AddCurrent(Plus, biasPlus);
        w.AddCurrent(Minus, biasMinus);
        w.AddCurrent(BiasReturn, -(biasPlus + biasMinus));
        if (!HasInputResistance)
            return;
        double conductance = InputConductance(w);
        double through = conductance * (w.X[Plus] - w.X[Minus]);
        w.Matrix[_input[0]] += conductance;
        w.Matrix[_input[1]] -= conductance;
        w.Matrix[_input[2]] -= conductance;
        w.Matrix[_input[3]] += conductance;
        w.AddCurrent(Plus, through);
        w.AddCurrent(Minus, -through);
    }

    private double Highest(Workspace w) =>
        _hasPositive ? w.X[Positive] - w.Values[FirstSlot + _slots.SwingBelowPositive] : double.PositiveInfinity;

    private double Lowest(Workspace w) =>
        _hasNegative ? w.X[Negative] + w.Values[FirstSlot + _slots.SwingAboveNegative] : double.NegativeInfinity;

    /// <summary>Shares of the two limits in the output: one of them, or half of each when the supplies leave no room between.</summary>
    private void LimitWeights(Workspace w, out double high, out double low)
    {
        bool isCollapsed = w.Modes[Mode + 3] != 0;
        bool isHigh = StateOf(w) == AmplifierState.AtPositiveLimit;
        high = isCollapsed ? 0.5 : isHigh ? 1 : 0;
        low = isCollapsed ? 0.5 : isHigh ? 0 : 1;
    }

    private void LoadLimit(Workspace w, double output)
    {
        LimitWeights(w, out double high, out double low);
        w.Matrix[_own[2]] += 1;
        w.Matrix[_own[4]] -= high;
        w.Matrix[_own[5]] -= low;
        double top = high > 0 ? high * Highest(w) : 0;
        double bottom = low > 0 ? low * Lowest(w) : 0;
        w.Residual[Branch] += output - top - bottom;
        w.Magnitude[Branch] += Math.Abs(output) + Math.Abs(w.X[Positive]) + Math.Abs(w.X[Negative]) + Math.Abs(top) + Math.Abs(bottom);
    }

    private void LoadConstantCurrent(Workspace w, double current, double limit)
    {
        w.Matrix[_own[6]] += 1;
        w.Residual[Branch] += current - limit;
        w.Magnitude[Branch] += Math.Abs(current) + Math.Abs(limit);
    }

    private AmplifierState WantedState(Workspace w, AmplifierState state)
    {
        double output = w.X[Output];
        double current = w.X[Branch];
        double high = Highest(w);
        double low = Lowest(w);
        if (high < low)
            high = low = 0.5 * (high + low);
        double slackVolts = 1e-12 * (Math.Abs(output) + Math.Abs(w.X[Positive]) + Math.Abs(w.X[Negative]));
        double drive = Drive(w, Law(w), out double magnitude);
        double slackDrive = 1e-13 * magnitude;
        double source = w.Values[FirstSlot + _slots.SourceCurrent];
        double sink = w.Values[FirstSlot + _slots.SinkCurrent];
        double slackAmperes = 1e-12 * Math.Abs(current);
        bool givesTooMuch = current > source + slackAmperes;
        bool takesTooMuch = current < -sink - slackAmperes;
        switch (state)
        {
            case AmplifierState.Sourcing:
                if (output > high + slackVolts)
                    return AmplifierState.AtPositiveLimit;
                return drive < -slackDrive && output > low + slackVolts ? AmplifierState.Linear : state;
            case AmplifierState.Sinking:
                if (output < low - slackVolts)
                    return AmplifierState.AtNegativeLimit;
                return drive > slackDrive && output < high - slackVolts ? AmplifierState.Linear : state;
            case AmplifierState.AtPositiveLimit when drive < -slackDrive:
                return JumpsAcross(w) ? AmplifierState.AtNegativeLimit : AmplifierState.Linear;
            case AmplifierState.AtNegativeLimit when drive > slackDrive:
                return JumpsAcross(w) ? AmplifierState.AtPositiveLimit : AmplifierState.Linear;
            case AmplifierState.Linear when output > high + slackVolts:
                return AmplifierState.AtPositiveLimit;
            case AmplifierState.Linear when output < low - slackVolts:
                return AmplifierState.AtNegativeLimit;
            default:
                return givesTooMuch ? AmplifierState.Sourcing : takesTooMuch ? AmplifierState.Sinking : state;
        }
    }

    private void AddErrorSensitivities(Workspace w, double own, Span<double> derivatives)
    {
        ReadOnlySpan<double> values = w.Values.AsSpan(FirstSlot);
        double factor = InputFactor(w);
        double common = (0.5 * (w.X[Plus] + w.X[Minus])) - MiddleOfSupplies(w);
        double excess = _hasPositive ? w.X[Positive] - w.X[Negative] - values[_slots.NominalSupply] : 0;
        double supplyError = _hasPositive ? values[_slots.SupplyError] : 0;
        derivatives[_slots.Offset] -= own * factor;
        derivatives[_slots.CommonModeError] -= own * factor * common;
        derivatives[_slots.SupplyError] -= own * factor * excess;
        derivatives[_slots.NominalSupply] += own * factor * supplyError;
        double inputSum = w.X[Plus] - w.X[Minus] + values[_slots.Offset] + (values[_slots.CommonModeError] * common) + (supplyError * excess);
        AddOwnSensitivities(w, own, inputSum, derivatives);
    }
}

/// <summary>Coefficients of an amplifier's linear law in the voltages of its pins and its output current.</summary>
internal record struct LinearLaw
{
    public double Plus;
    public double Minus;
    public double Output;
    public double Reference;
    public double Positive;
    public double Negative;
    public double Current;
    public double Constant;
}

/// <summary>An amplifier's linear law for many units at once.</summary>
internal sealed class BatchLaw(Expr constant)
{
    public List<(int Unknown, Expr Coefficient)> Coefficients { get; } = [];

    public Expr Constant { get; set; } = constant;

    public void Add(int unknown, Expr coefficient) => Coefficients.Add((unknown, coefficient));
}
