namespace Throughline.Circuits;

/// <summary>
/// Ebers–Moll in the transport form: IC = Is (exp(vBE/VT) − exp(vBC/VT)) − (Is/βR)(exp(vBC/VT) − 1),
/// IB = (Is/βF)(exp(vBE/VT) − 1) + (Is/βR)(exp(vBC/VT) − 1); a pnp has every sign turned.
/// With a stated saturation voltage the reverse terms are left out and the collector follows three pieces: its forward current while vCE is above the
/// stated voltage, vCE at that voltage while the circuit allows less, and no current below it: never a source of power.
/// </summary>
internal sealed class Bipolar : Element
{
    private const int Active = 0;
    private const int Saturated = 1;
    private const int Off = 2;

    private readonly int[] _pins;
    private readonly double _sign;
    private readonly int[] _entries = new int[13];
    private int _c;
    private int _b;
    private int _e;

    public Bipolar(string name, NodeId collector, NodeId @base, NodeId emitter, bool isNpn)
        : base(name)
    {
        _pins = [collector.Index, @base.Index, emitter.Index];
        _sign = isNpn ? 1 : -1;
    }

    public override string Kind => "bipolar transistor";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("saturation current", 1e-14), new("forward current gain", 100), new("reverse current gain", 1), new("saturation voltage", 0),
    ];

    public override int BranchCount => 2;

    public override int StateCount => 2;

    public override int ModeCount => 1;

    public override IReadOnlyList<int> Pins => _pins;

    public override IReadOnlyList<(int First, int Second)> Paths => [(0, 2), (1, 2)];

    private int CollectorCurrent => Branch;

    private int BaseCurrent => Branch + 1;

    /// <summary>True when the collector holds its stated saturation voltage, or below it.</summary>
    public bool IsSaturated(Workspace w) => w.Modes[Mode] != Active;

    public override string DescribeUnknown(int offset) => offset == 0 ? $"the collector current of {Name}" : $"the base current of {Name}";

    public override void Declare(EquationPattern pattern)
    {
        _c = pattern.Node(_pins[0]);
        _b = pattern.Node(_pins[1]);
        _e = pattern.Node(_pins[2]);
        ReadOnlySpan<(int Row, int Column)> places =
        [
            (_c, CollectorCurrent), (_b, BaseCurrent), (_e, CollectorCurrent), (_e, BaseCurrent),
            (CollectorCurrent, _c), (CollectorCurrent, _b), (CollectorCurrent, _e), (CollectorCurrent, CollectorCurrent),
            (BaseCurrent, _c), (BaseCurrent, _b), (BaseCurrent, _e), (BaseCurrent, BaseCurrent),
        ];
        for (int k = 0; k < places.Length; k++)
            _entries[k] = pattern.Entry(places[k].Row, places[k].Column);
    }

    public override void Start(Workspace w)
    {
        double bend = Junction.Bend(w.Values[FirstSlot], w.ThermalOf(Index));
        w.States[State] = double.IsFinite(bend) ? Math.Max(bend, 0) : 0;
        w.States[State + 1] = 0;
        w.Modes[Mode] = Active;
    }

    public override void Load(Workspace w)
    {
        double[] a = w.Matrix;
        int[] at = _entries;
        double collector = w.X[CollectorCurrent];
        double @base = w.X[BaseCurrent];
        a[at[0]] += 1;
        a[at[1]] += 1;
        a[at[2]] -= 1;
        a[at[3]] -= 1;
        w.AddCurrent(_c, collector);
        w.AddCurrent(_b, @base);
        w.AddCurrent(_e, -(collector + @base));

        double saturation = w.Values[FirstSlot];
        double be = w.States[State];
        double bc = w.States[State + 1];
        double forward = Junction.Current(saturation, w.ThermalOf(Index), be, out double gForward);
        double reverse = 0;
        double gReverse = 0;
        if (!HasStatedSaturation(w))
            reverse = Junction.Current(saturation, w.ThermalOf(Index), bc, out gReverse);
        forward -= gForward * be;
        reverse -= gReverse * bc;
        double invF = 1 / w.Values[FirstSlot + (int)BipolarSlot.ForwardGain];
        double invR = 1 / w.Values[FirstSlot + (int)BipolarSlot.ReverseGain];

        int mode = w.Modes[Mode];
        if (mode == Active)
            LoadRow(w, CollectorCurrent, 4, 7, gForward, -gReverse * (1 + invR), forward - (reverse * (1 + invR)), 1);
        else if (mode == Off)
            LoadRow(w, CollectorCurrent, 4, 7, 0, 0, 0, 1);
        else
            LoadRow(w, CollectorCurrent, 4, 7, 1, -1, -w.Values[FirstSlot + (int)BipolarSlot.SaturationVoltage], 0);
        double shunt = w.JunctionConductance;
        LoadRow(w, BaseCurrent, 8, 11, (gForward * invF) + shunt, (gReverse * invR) + shunt, (forward * invF) + (reverse * invR), 1);
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        double thermal = w.ThermalOf(Index);
        double saturation = w.Values[FirstSlot];
        double be = _sign * (w.X[_b] - w.X[_e]);
        double bc = _sign * (w.X[_b] - w.X[_c]);
        double magnitude = Math.Abs(w.X[_b]) + Math.Abs(w.X[_e]) + Math.Abs(w.X[_c]);
        double pointBe = w.States[State];
        double pointBc = w.States[State + 1];
        double nextBe = Junction.Limit(saturation, thermal, be, pointBe);
        double nextBc = Junction.Limit(saturation, thermal, bc, pointBc);
        bool stated = HasStatedSaturation(w);
        bool settled = nextBe == be && Junction.IsAt(be, pointBe, thermal, magnitude)
            && (stated || (nextBc == bc && Junction.IsAt(bc, pointBc, thermal, magnitude)));
        w.States[State] = nextBe;
        w.States[State + 1] = nextBc;

        int mode = w.Modes[Mode];
        int wanted = stated ? WantedMode(w, mode, be, bc, pointBe, magnitude) : Active;
        if (wanted == mode)
            return settled ? Advance.Settled : Advance.Moved;
        if (!maySwitch)
            return Advance.WouldSwitch;
        w.Modes[Mode] = wanted;
        return Advance.Switched;
    }

    public override void PinCurrents(Workspace w, Span<double> amperes)
    {
        amperes[0] = w.X[CollectorCurrent];
        amperes[1] = w.X[BaseCurrent];
        amperes[2] = -(amperes[0] + amperes[1]);
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        // Written between the pins themselves, so that the scale of the transistor's equations does not matter.
        double charge = 2 * NoiseSource.ElementaryCharge;
        if (w.Modes[Mode] == Active)
            sources.Add(new NoiseSource(Index, "collector shot noise", charge * Math.Abs(w.X[CollectorCurrent]), 0, [(_c, 1), (_e, -1)]));
        sources.Add(new NoiseSource(Index, "base shot noise", charge * Math.Abs(w.X[BaseCurrent]), 0, [(_b, 1), (_e, -1)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double saturation = w.Values[FirstSlot];
        double forwardGain = w.Values[FirstSlot + (int)BipolarSlot.ForwardGain];
        double reverseGain = w.Values[FirstSlot + (int)BipolarSlot.ReverseGain];
        double forward = Junction.Current(saturation, w.ThermalOf(Index), _sign * (w.X[_b] - w.X[_e]), out double gForward);
        double reverse = 0;
        double gReverse = 0;
        if (!HasStatedSaturation(w))
            reverse = Junction.Current(saturation, w.ThermalOf(Index), _sign * (w.X[_b] - w.X[_c]), out gReverse);
        double invF = 1 / forwardGain;
        double invR = 1 / reverseGain;
        double unitForward = saturation > 0 ? forward / saturation : 0;
        double unitReverse = saturation > 0 ? reverse / saturation : 0;

        int mode = w.Modes[Mode];
        if (mode == Active)
        {
            double factor = -adjoint[CollectorCurrent] * _sign * RowScale(gForward, gReverse * (1 + invR));
            derivatives[(int)BipolarSlot.SaturationCurrent] += factor * (unitForward - (unitReverse * (1 + invR)));
            derivatives[(int)BipolarSlot.ReverseGain] += factor * reverse * invR * invR;
        }
        else if (mode == Saturated)
        {
            derivatives[(int)BipolarSlot.SaturationVoltage] += adjoint[CollectorCurrent] * _sign * RowScale(1, 1);
        }

        double ofBase = -adjoint[BaseCurrent] * _sign * RowScale(gForward * invF, gReverse * invR);
        derivatives[(int)BipolarSlot.SaturationCurrent] += ofBase * ((unitForward * invF) + (unitReverse * invR));
        derivatives[(int)BipolarSlot.ForwardGain] -= ofBase * forward * invF * invF;
        derivatives[(int)BipolarSlot.ReverseGain] -= ofBase * reverse * invR * invR;
    }

    private bool HasStatedSaturation(Workspace w) => w.Values[FirstSlot + (int)BipolarSlot.SaturationVoltage] > 0;

    private static double RowScale(double g, double h) => 1 / Math.Max(1, Math.Max(Math.Abs(g), Math.Abs(h)));

    private int WantedMode(Workspace w, int mode, double be, double bc, double pointBe, double magnitude)
    {
        double limit = w.Values[FirstSlot + (int)BipolarSlot.SaturationVoltage];
        double ce = be - bc;
        double slackVolts = 1e-12 * (magnitude + limit);
        if (mode == Active)
            return ce < limit - slackVolts ? Saturated : Active;
        if (mode == Off)
            return ce > limit + slackVolts ? Saturated : Off;
        double collector = _sign * w.X[CollectorCurrent];
        double possible = Junction.Current(w.Values[FirstSlot], w.ThermalOf(Index), pointBe, out double g);
        possible += g * (be - pointBe);
        double slackAmperes = 1e-12 * (Math.Abs(collector) + Math.Abs(possible));
        if (collector < -slackAmperes)
            return Off;
        return collector > possible + slackAmperes ? Active : Saturated;
    }

    /// <summary>Writes <c>scale × sign × (g vBE + h vBC + constant) − weight × scale × i = 0</c>.</summary>
    private void LoadRow(Workspace w, int row, int firstEntry, int ownEntry, double g, double h, double constant, double weight)
    {
        double scale = RowScale(g, h);
        g *= scale;
        h *= scale;
        double be = w.X[_b] - w.X[_e];
        double bc = w.X[_b] - w.X[_c];
        double own = weight * scale * w.X[row];
        int[] at = _entries;
        w.Matrix[at[firstEntry]] -= h;
        w.Matrix[at[firstEntry + 1]] += g + h;
        w.Matrix[at[firstEntry + 2]] -= g;
        w.Matrix[at[ownEntry]] -= weight * scale;
        w.Residual[row] += (g * be) + (h * bc) + (_sign * scale * constant) - own;
        w.Magnitude[row] += (Math.Abs(g) * (Math.Abs(w.X[_b]) + Math.Abs(w.X[_e])))
            + (Math.Abs(h) * (Math.Abs(w.X[_b]) + Math.Abs(w.X[_c]))) + Math.Abs(scale * constant) + Math.Abs(own);
    }

    public override void Load(BatchEquations e)
    {
        e.Add(_c, CollectorCurrent, 1);
        e.Add(_b, BaseCurrent, 1);
        e.Add(_e, CollectorCurrent, -1);
        e.Add(_e, BaseCurrent, -1);
        Expr saturation = e.Slot(FirstSlot);
        Expr thermal = e.Thermal(Index);
        Expr be = e.Point(State);
        (Expr forward, Expr gForward) = Junction.Current(e, saturation, thermal, be);
        forward -= gForward * be;
        Expr reverse = e.Constant(0);
        Expr gReverse = reverse;
        if (!HasStatedSaturation(e))
        {
            Expr bc = e.Point(State + 1);
            (reverse, gReverse) = Junction.Current(e, saturation, thermal, bc);
            reverse -= gReverse * bc;
        }

        Expr invF = 1 / e.Slot(FirstSlot + (int)BipolarSlot.ForwardGain);
        Expr invR = 1 / e.Slot(FirstSlot + (int)BipolarSlot.ReverseGain);
        Expr zero = e.Constant(0);
        int mode = e.Mode(Mode);
        if (mode == Active)
            LoadRow(e, CollectorCurrent, gForward, -(gReverse * (1 + invR)), forward - (reverse * (1 + invR)), 1);
        else if (mode == Off)
            LoadRow(e, CollectorCurrent, zero, zero, zero, 1);
        else
            LoadRow(e, CollectorCurrent, e.Constant(1), e.Constant(-1), -e.Slot(FirstSlot + (int)BipolarSlot.SaturationVoltage), 0);
        LoadRow(e, BaseCurrent, gForward * invF, gReverse * invR, (forward * invF) + (reverse * invR), 1);
    }

    public override void Follow(BatchEquations e)
    {
        Expr saturation = e.Slot(FirstSlot);
        if (saturation.IsZero)
            return;
        Expr thermal = e.Thermal(Index);
        Expr be = (e.X(_b) - e.X(_e)) * _sign;
        Expr pointBe = e.Point(State);
        e.Move(State, Junction.Limit(e, saturation, thermal, be, pointBe), Junction.IsAt(be, pointBe, thermal));
        if (HasStatedSaturation(e))
            return;
        Expr bc = (e.X(_b) - e.X(_c)) * _sign;
        Expr pointBc = e.Point(State + 1);
        e.Move(State + 1, Junction.Limit(e, saturation, thermal, bc, pointBc), Junction.IsAt(bc, pointBc, thermal));
    }

    public override void Confine(BatchEquations e)
    {
        if (!e.IsHeld[CollectorCurrent] && !e.IsHeld[BaseCurrent])
            return;
        Expr limit = e.Slot(FirstSlot + (int)BipolarSlot.SaturationVoltage);
        if (!limit.IsConstant)
            e.Require(HasStatedSaturation(e) ? limit > 0 : limit <= 0);
        // Only the collector's law has pieces.
        if (!HasStatedSaturation(e) || !e.IsHeld[CollectorCurrent])
            return;
        int mode = e.Mode(Mode);
        if (mode != Saturated)
        {
            Expr ce = (e.X(_c) - e.X(_e)) * _sign;
            e.Require(mode == Active ? ce >= limit : ce <= limit);
            return;
        }

        Expr collector = e.X(CollectorCurrent) * _sign;
        Expr point = (e.X(_b) - e.X(_e)) * _sign;
        (Expr possible, _) = Junction.Current(e, e.Slot(FirstSlot), e.Thermal(Index), point);
        e.Require(collector >= 0);
        e.Require(collector <= possible);
    }

    private bool HasStatedSaturation(BatchEquations e) => e.Slot(FirstSlot + (int)BipolarSlot.SaturationVoltage).Nominal > 0;

    private void LoadRow(BatchEquations e, int row, Expr g, Expr h, Expr constant, double weight)
    {
        double scale = BatchEquations.ScaleOf(Math.Max(Math.Abs(g.Nominal), Math.Abs(h.Nominal)));
        g *= scale;
        h *= scale;
        e.Add(row, _c, -h);
        e.Add(row, _b, g + h);
        e.Add(row, _e, -g);
        e.Add(row, row, -weight * scale);
        e.Add(row, constant * (_sign * scale));
    }
}
