namespace Throughline.Circuits;

/// <summary>
/// Shockley's law I = Is (exp(v / nVT) − 1) with a resistance in series and, where stated, a breakdown that carries
/// <see cref="KneeCurrent"/> at the stated reverse voltage and rises with the same nVT.
/// </summary>
internal sealed class Diode(string name, NodeId anode, NodeId cathode) : TwoPin(name, anode, cathode)
{
    /// <summary>Reverse current at the stated breakdown voltage, A.</summary>
    public const double KneeCurrent = 1e-3;

    public override string Kind => "diode";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
    [
        new("saturation current", 1e-14), new("emission coefficient", 1), new("series resistance", 0),
        new("breakdown voltage", double.PositiveInfinity),
    ];

    public override int StateCount => 1;

    public override void Start(Workspace w)
    {
        double bend = Junction.Bend(w.Values[FirstSlot], Thermal(w));
        w.States[State] = double.IsFinite(bend) ? Math.Max(bend, 0) : 0;
    }

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        double resistance = w.Values[FirstSlot + (int)DiodeSlot.SeriesResistance];
        double point = w.States[State];
        double current = Law(w, point, out double g);
        double scale = 1 / Math.Max(1, g);
        LoadOwn(w, scale * g, -scale * (1 + (g * resistance)), scale * (current - (g * point)));
    }

    public override Advance Follow(Workspace w, bool maySwitch)
    {
        double volts = JunctionVoltage(w);
        double point = w.States[State];
        double saturation = w.Values[FirstSlot];
        double thermal = Thermal(w);
        double next = Junction.Limit(saturation, thermal, volts, point);
        double breakdown = w.Values[FirstSlot + (int)DiodeSlot.Breakdown];
        if (double.IsFinite(breakdown) && volts < -breakdown)
            next = Math.Min(-breakdown, -breakdown - Junction.Limit(KneeCurrent, thermal, -breakdown - volts, -breakdown - point));
        w.States[State] = next;
        return next == volts && Junction.IsAt(volts, point, thermal, Math.Abs(w.X[First]) + Math.Abs(w.X[Second]))
            ? Advance.Settled
            : Advance.Moved;
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        // Both directions of the junction's current are shot noise of their own: 2q (I + 2 Is).
        Law(w, JunctionVoltage(w), out double g);
        double scale = 1 / Math.Max(1, g);
        double shot = 2 * NoiseSource.ElementaryCharge * (Math.Abs(w.X[Branch]) + (2 * w.Values[FirstSlot]));
        sources.Add(new NoiseSource(Index, "shot noise", shot, 0, [(Branch, scale)]));
        double ohms = w.Values[FirstSlot + (int)DiodeSlot.SeriesResistance];
        if (ohms > 0)
            sources.Add(new NoiseSource(Index, "thermal noise", 4 * w.ThermalVoltage * NoiseSource.ElementaryCharge * ohms, 0, [(Branch, scale * g)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double volts = JunctionVoltage(w);
        double thermal = Thermal(w);
        double saturation = w.Values[FirstSlot];
        double emission = w.Values[FirstSlot + (int)DiodeSlot.Emission];
        Law(w, volts, out double g);
        double factor = -adjoint[Branch] / Math.Max(1, g);
        double power = saturation > 0 ? Junction.Current(saturation, thermal, volts, out _) / saturation : 0;
        derivatives[(int)DiodeSlot.SaturationCurrent] += factor * power;
        derivatives[(int)DiodeSlot.SeriesResistance] -= factor * g * w.X[Branch];
        double byEmission = saturation > 0 ? -(power + 1) * saturation * volts / (thermal * emission) : 0;
        double breakdown = w.Values[FirstSlot + (int)DiodeSlot.Breakdown];
        if (double.IsFinite(breakdown))
        {
            double reverse = KneeCurrent * Math.Exp(-(volts + breakdown) / thermal);
            derivatives[(int)DiodeSlot.Breakdown] += factor * reverse / thermal;
            byEmission -= reverse * (volts + breakdown) / (thermal * emission);
        }

        derivatives[(int)DiodeSlot.Emission] += factor * byEmission;
    }

    private double Thermal(Workspace w) => w.Values[FirstSlot + (int)DiodeSlot.Emission] * w.ThermalVoltage;

    private double JunctionVoltage(Workspace w) =>
        w.X[First] - w.X[Second] - (w.Values[FirstSlot + (int)DiodeSlot.SeriesResistance] * w.X[Branch]);

    private double Law(Workspace w, double volts, out double conductance)
    {
        double thermal = Thermal(w);
        double current = Junction.Current(w.Values[FirstSlot], thermal, volts, out conductance);
        double breakdown = w.Values[FirstSlot + (int)DiodeSlot.Breakdown];
        if (double.IsFinite(breakdown))
        {
            current -= Junction.Current(KneeCurrent, thermal, -breakdown - volts, out double reverse) + KneeCurrent;
            conductance += reverse;
        }

        conductance += w.JunctionConductance;
        return current + (w.JunctionConductance * volts);
    }
}
