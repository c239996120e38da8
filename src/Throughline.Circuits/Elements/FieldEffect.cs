namespace Throughline.Circuits;

/// <summary>
/// Field-effect transistor by the square law, as an n-channel: with u = vGS − Vth above 0, I = k u² (1 + λ vDS) for vDS ≥ u and
/// I = k (2 u vDS − vDS²)(1 + λ vDS) below; none for u ≤ 0. With vDS negative drain and source change places; a p-channel has every sign turned.
/// A depletion type has a negative threshold: k = IDSS / Vth². The gate draws nothing.
/// </summary>
/// <remarks>Shichman, Hodges: Modeling and simulation of insulated-gate field-effect transistor switching circuits, IEEE J. Solid-State Circuits 3 (1968) 285–289, from memory.</remarks>
internal sealed class FieldEffect(string name, NodeId drain, NodeId gate, NodeId source, bool isNChannel) : Element(name)
{
    private readonly int[] _pins = [drain.Index, gate.Index, source.Index];
    private readonly double _sign = isNChannel ? 1 : -1;
    private readonly int[] _own = new int[4];
    private int _d;
    private int _g;
    private int _s;
    private int _drainEntry;
    private int _sourceEntry;

    public override string Kind => "field-effect transistor";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
        [new("threshold voltage", 1), new("transconductance factor", 1e-3), new("channel-length modulation", 0)];

    public override int BranchCount => 1;

    public override int StateCount => 2;

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [(0, 2)];

    public override void Declare(EquationPattern pattern)
    {
        _d = pattern.Node(_pins[0]);
        _g = pattern.Node(_pins[1]);
        _s = pattern.Node(_pins[2]);
        _drainEntry = pattern.Entry(_d, Branch);
        _sourceEntry = pattern.Entry(_s, Branch);
        _own[0] = pattern.Entry(Branch, _d);
        _own[1] = pattern.Entry(Branch, _g);
        _own[2] = pattern.Entry(Branch, _s);
        _own[3] = pattern.Entry(Branch, Branch);
    }

    public override void Start(Workspace w)
    {
        // One volt into conduction and into saturation: off, it would have no slope to leave by.
        w.States[State] = w.Values[FirstSlot] + 1;
        w.States[State + 1] = 2;
    }

    public override void Load(Workspace w)
    {
        double current = w.X[Branch];
        w.Matrix[_drainEntry] += 1;
        w.Matrix[_sourceEntry] -= 1;
        w.AddCurrent(_d, current);
        w.AddCurrent(_s, -current);
        double vgs = w.States[State];
        double vds = w.States[State + 1];
        double drain = Law(w, vgs, vds, out double gm, out double gds);
        gds += w.JunctionConductance;
        drain += w.JunctionConductance * vds;
        double scale = 1 / Math.Max(1, Math.Max(Math.Abs(gm), Math.Abs(gds)));
        gm *= scale;
        gds *= scale;
        double constant = _sign * ((scale * drain) - (gm * vgs) - (gds * vds));
        double gateSource = w.X[_g] - w.X[_s];
        double drainSource = w.X[_d] - w.X[_s];
        w.Matrix[_own[0]] += gds;
        w.Matrix[_own[1]] += gm;
        w.Matrix[_own[2]] -= gm + gds;
        w.Matrix[_own[3]] -= scale;
        w.Residual[Branch] += (gm * gateSource) + (gds * drainSource) + constant - (scale * current);
        w.Magnitude[Branch] += (Math.Abs(gm) * (Math.Abs(w.X[_g]) + Math.Abs(w.X[_s]))) + (Math.Abs(gds) * (Math.Abs(w.X[_d]) + Math.Abs(w.X[_s])))
            + Math.Abs(constant) + Math.Abs(scale * current);
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        double vgs = _sign * (w.X[_g] - w.X[_s]);
        double vds = _sign * (w.X[_d] - w.X[_s]);
        double magnitude = Math.Abs(w.X[_d]) + Math.Abs(w.X[_g]) + Math.Abs(w.X[_s]);
        bool isSettled = IsAt(vgs, w.States[State], magnitude) && IsAt(vds, w.States[State + 1], magnitude);
        w.States[State] = vgs;
        w.States[State + 1] = vds;
        return isSettled ? Advance.Settled : Advance.Moved;
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = w.X[Branch];
        amperes[1] = 0;
        amperes[2] = -w.X[Branch];
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double vgs = _sign * (w.X[_g] - w.X[_s]);
        double vds = _sign * (w.X[_d] - w.X[_s]);
        double current = Law(w, vgs, vds, out double gm, out double gds);
        double own = -adjoint[Branch] * _sign / Math.Max(1, Math.Max(Math.Abs(gm), Math.Abs(gds)));
        double factor = w.Values[FirstSlot + (int)FieldEffectSlot.Factor];
        double modulation = w.Values[FirstSlot + (int)FieldEffectSlot.Modulation];
        // Threshold and gate voltage act by their difference; with drain and source exchanged too.
        derivatives[(int)FieldEffectSlot.Threshold] -= own * gm;
        derivatives[(int)FieldEffectSlot.Factor] += factor != 0 ? own * current / factor : 0;
        derivatives[(int)FieldEffectSlot.Modulation] += own * current * Math.Abs(vds) / (1 + (modulation * Math.Abs(vds)));
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        // Thermal noise of the channel in saturation, 4kT (2/3) gm; common practice (van der Ziel), from memory.
        Law(w, w.States[State], w.States[State + 1], out double gm, out _);
        if (gm > 0)
            sources.Add(new NoiseSource(Index, "channel noise", 4 * w.ThermalOf(Index) * NoiseSource.ElementaryCharge * gm * 2 / 3, 0, [(_d, 1), (_s, -1)]));
    }

    private static bool IsAt(double volts, double point, double magnitude) => Math.Abs(volts - point) <= 1e-10 + (1e-13 * magnitude);

    private double Law(Workspace w, double vgs, double vds, out double gm, out double gds)
    {
        double threshold = w.Values[FirstSlot];
        double factor = w.Values[FirstSlot + (int)FieldEffectSlot.Factor];
        double modulation = w.Values[FirstSlot + (int)FieldEffectSlot.Modulation];
        if (vds >= 0)
            return Forward(factor, modulation, vgs - threshold, vds, out gm, out gds);
        // The other end is the source: its gate voltage is vGD.
        double current = Forward(factor, modulation, vgs - vds - threshold, -vds, out gm, out double g);
        gds = g + gm;
        gm = -gm;
        return -current;
    }

    private static double Forward(double factor, double modulation, double drive, double vds, out double gm, out double gds)
    {
        if (drive <= 0)
        {
            gm = gds = 0;
            return 0;
        }

        double length = 1 + (modulation * vds);
        bool isSaturated = vds >= drive;
        double square = isSaturated ? drive * drive : vds * ((2 * drive) - vds);
        gm = 2 * factor * length * (isSaturated ? drive : vds);
        gds = factor * ((modulation * square) + (isSaturated ? 0 : 2 * length * (drive - vds)));
        return factor * square * length;
    }

    public override void Load(BatchEquations e)
    {
        e.Add(_d, Branch, 1);
        e.Add(_s, Branch, -1);
        Expr vgs = e.Point(State);
        Expr vds = e.Point(State + 1);
        (Expr drain, Expr gm, Expr gds) = Law(e, vgs, vds);
        double scale = BatchEquations.ScaleOf(Math.Max(Math.Abs(gm.Nominal), Math.Abs(gds.Nominal)));
        gm *= scale;
        gds *= scale;
        e.Add(Branch, _d, gds);
        e.Add(Branch, _g, gm);
        e.Add(Branch, _s, -(gm + gds));
        e.Add(Branch, Branch, -scale);
        e.Add(Branch, _sign * ((scale * drain) - (gm * vgs) - (gds * vds)));
    }

    public override void Follow(BatchEquations e)
    {
        if (e.Slot(FirstSlot + (int)FieldEffectSlot.Factor).IsZero)
            return;
        Expr vgs = (e.X(_g) - e.X(_s)) * _sign;
        Expr vds = (e.X(_d) - e.X(_s)) * _sign;
        e.Move(State, vgs, (vgs - e.Point(State)).Abs() <= SettledVolts);
        e.Move(State + 1, vds, (vds - e.Point(State + 1)).Abs() <= SettledVolts);
    }

    // A square law leaves k times the square of this.
    private const double SettledVolts = 1e-8;

    private (Expr Current, Expr Gm, Expr Gds) Law(BatchEquations e, Expr vgs, Expr vds)
    {
        Expr threshold = e.Slot(FirstSlot);
        Expr factor = e.Slot(FirstSlot + (int)FieldEffectSlot.Factor);
        Expr modulation = e.Slot(FirstSlot + (int)FieldEffectSlot.Modulation);
        // With drain and source exchanged the other end is the source: its gate voltage is vGD.
        Expr isForward = vds >= 0;
        Expr drive = (e.Select(isForward, vgs, vgs - vds) - threshold).AtLeast(0);
        Expr across = vds.Abs();
        Expr length = 1 + (modulation * across);
        Expr isSaturated = across >= drive;
        // Below saturation v (2u − v), at it u²: both are v' (2u − v') with v' no more than u.
        Expr inner = e.Select(isSaturated, drive, across);
        Expr square = inner * ((2 * drive) - inner);
        Expr gm = 2 * factor * length * inner;
        Expr gds = factor * ((modulation * square) + (2 * length * (drive - inner)));
        Expr current = factor * square * length;
        return (e.Select(isForward, current, -current), e.Select(isForward, gm, -gm), e.Select(isForward, gds, gds + gm));
    }
}
