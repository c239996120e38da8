namespace Throughline.Circuits;

/// <summary>The numbers of a junction with a breakdown: Is, n, series resistance, reverse voltage of the knee and current there.</summary>
internal readonly record struct JunctionLaw(double Saturation, double Emission, double Series, double Breakdown, double Knee);

/// <summary>The same for many units at once.</summary>
internal sealed record BatchJunction(Expr Saturation, Expr Emission, Expr Series, Expr Breakdown, Expr Knee);

/// <summary>Derivatives of a reading with respect to the numbers of a junction.</summary>
internal readonly record struct JunctionDerivatives(double Saturation, double Emission, double Series, double Breakdown, double Knee);

/// <summary>
/// Shockley's law I = Is (exp(v / nVT) − 1) with a resistance in series and, where stated, a breakdown that carries
/// the knee current at the knee voltage and rises with the same nVT.
/// </summary>
internal abstract class JunctionDiode(string name, NodeId anode, NodeId cathode) : TwoPin(name, anode, cathode)
{
    public override int StateCount => 1;

    public override void Start(Workspace w)
    {
        JunctionLaw law = Law(w);
        double bend = Junction.Bend(law.Saturation, law.Emission * w.ThermalOf(Index));
        w.States[State] = double.IsFinite(bend) ? Math.Max(bend, 0) : 0;
    }

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        JunctionLaw law = Law(w);
        double point = w.States[State];
        double current = Current(w, law, point, out double g);
        double scale = 1 / Math.Max(1, g);
        LoadOwn(w, scale * g, -scale * (1 + (g * law.Series)), scale * (current - (g * point)));
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        JunctionLaw law = Law(w);
        double volts = JunctionVoltage(w, law);
        double point = w.States[State];
        double thermal = law.Emission * w.ThermalOf(Index);
        double next = Junction.Limit(law.Saturation, thermal, volts, point);
        if (double.IsFinite(law.Breakdown) && volts < -law.Breakdown)
            next = Math.Min(-law.Breakdown, -law.Breakdown - Junction.Limit(law.Knee, thermal, -law.Breakdown - volts, -law.Breakdown - point));
        w.States[State] = next;
        return next == volts && Junction.IsAt(volts, point, thermal, Math.Abs(w.X[First]) + Math.Abs(w.X[Second]))
            ? Advance.Settled
            : Advance.Moved;
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        // Both directions of the junction's current are shot noise of their own: 2q (I + 2 Is).
        JunctionLaw law = Law(w);
        Current(w, law, JunctionVoltage(w, law), out double g);
        double scale = 1 / Math.Max(1, g);
        double shot = 2 * NoiseSource.ElementaryCharge * (Math.Abs(w.X[Branch]) + (2 * law.Saturation));
        sources.Add(new NoiseSource(Index, "shot noise", shot, 0, [(Branch, scale)]));
        if (law.Series > 0)
            sources.Add(new NoiseSource(Index, "thermal noise", 4 * w.ThermalOf(Index) * NoiseSource.ElementaryCharge * law.Series, 0, [(Branch, scale * g)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        JunctionLaw law = Law(w);
        double volts = JunctionVoltage(w, law);
        double thermal = law.Emission * w.ThermalOf(Index);
        Current(w, law, volts, out double g);
        double factor = -adjoint[Branch] / Math.Max(1, g);
        double power = law.Saturation > 0 ? Junction.Current(law.Saturation, thermal, volts, out _) / law.Saturation : 0;
        double byEmission = law.Saturation > 0 ? -(power + 1) * law.Saturation * volts / (thermal * law.Emission) : 0;
        double byBreakdown = 0;
        double byKnee = 0;
        if (double.IsFinite(law.Breakdown))
        {
            double unit = Math.Exp(-(volts + law.Breakdown) / thermal);
            byBreakdown = law.Knee * unit / thermal;
            byKnee = -unit;
            byEmission -= law.Knee * unit * (volts + law.Breakdown) / (thermal * law.Emission);
        }

        AddLawSensitivities(
            w, new JunctionDerivatives(factor * power, factor * byEmission, -factor * g * w.X[Branch], factor * byBreakdown, factor * byKnee), derivatives);
    }

    protected abstract JunctionLaw Law(Workspace w);

    /// <summary>Turns derivatives with respect to the junction's numbers into those with respect to the slots.</summary>
    protected abstract void AddLawSensitivities(Workspace w, in JunctionDerivatives by, Span<double> derivatives);

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        BatchJunction law = Law(e);
        Expr point = e.Point(State);
        (Expr current, Expr g) = Current(e, law, point);
        double scale = BatchEquations.ScaleOf(g.Nominal);
        LoadOwn(e, g * scale, -(1 + (g * law.Series)) * scale, (current - (g * point)) * scale);
    }

    public override void Follow(BatchEquations e)
    {
        BatchJunction law = Law(e);
        if (law.Saturation.IsZero && !HasBreakdown(law))
            return;
        Expr point = e.Point(State);
        Expr volts = e.X(First) - e.X(Second) - (law.Series.IsZero ? law.Series : law.Series * e.X(Branch));
        Expr thermal = law.Emission * e.Thermal(Index);
        Expr next = Junction.Limit(e, law.Saturation, thermal, volts, point);
        if (HasBreakdown(law))
        {
            Expr back = -(law.Breakdown + Junction.Limit(e, law.Knee, thermal, -(law.Breakdown + volts), -(law.Breakdown + point)));
            next = e.Select(volts < -law.Breakdown, back.AtMost(-law.Breakdown), next);
        }

        e.Move(State, next, Junction.IsAt(volts, point, thermal));
    }

    protected abstract BatchJunction Law(BatchEquations e);

    private static bool HasBreakdown(BatchJunction law) => !(law.Breakdown.IsConstant && double.IsInfinity(law.Breakdown.Nominal));

    private (Expr Current, Expr Conductance) Current(BatchEquations e, BatchJunction law, Expr volts)
    {
        Expr thermal = law.Emission * e.Thermal(Index);
        (Expr current, Expr conductance) = Junction.Current(e, law.Saturation, thermal, volts);
        if (HasBreakdown(law))
        {
            (Expr back, Expr reverse) = Junction.Current(e, law.Knee, thermal, -(law.Breakdown + volts));
            current -= back + law.Knee;
            conductance += reverse;
        }

        return (current, conductance);
    }

    private double JunctionVoltage(Workspace w, in JunctionLaw law) => w.X[First] - w.X[Second] - (law.Series * w.X[Branch]);

    private double Current(Workspace w, in JunctionLaw law, double volts, out double conductance)
    {
        double thermal = law.Emission * w.ThermalOf(Index);
        double current = Junction.Current(law.Saturation, thermal, volts, out conductance);
        if (double.IsFinite(law.Breakdown))
        {
            current -= Junction.Current(law.Knee, thermal, -law.Breakdown - volts, out double reverse) + law.Knee;
            conductance += reverse;
        }

        conductance += w.JunctionConductance;
        return current + (w.JunctionConductance * volts);
    }
}

/// <summary>A diode by its slots.</summary>
internal sealed class Diode(string name, NodeId anode, NodeId cathode) : JunctionDiode(name, anode, cathode)
{
    /// <summary>Reverse current at the stated breakdown voltage, A.</summary>
    public const double KneeCurrent = 1e-3;

    public override string Kind => "diode";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("saturation current", 1e-14), new("emission coefficient", 1), new("series resistance", 0),
        new("breakdown voltage", double.PositiveInfinity),
    ];

    protected override JunctionLaw Law(Workspace w) => new(
        w.Values[FirstSlot], w.Values[FirstSlot + (int)DiodeSlot.Emission], w.Values[FirstSlot + (int)DiodeSlot.SeriesResistance],
        w.Values[FirstSlot + (int)DiodeSlot.Breakdown], KneeCurrent);

    protected override BatchJunction Law(BatchEquations e) => new(
        e.Slot(FirstSlot), e.Slot(FirstSlot + (int)DiodeSlot.Emission), e.Slot(FirstSlot + (int)DiodeSlot.SeriesResistance),
        e.Slot(FirstSlot + (int)DiodeSlot.Breakdown), e.Constant(KneeCurrent));

    protected override void AddLawSensitivities(Workspace w, in JunctionDerivatives by, Span<double> derivatives)
    {
        derivatives[(int)DiodeSlot.SaturationCurrent] += by.Saturation;
        derivatives[(int)DiodeSlot.Emission] += by.Emission;
        derivatives[(int)DiodeSlot.SeriesResistance] += by.Series;
        derivatives[(int)DiodeSlot.Breakdown] += by.Breakdown;
    }
}
