namespace Throughline.Circuits;

/// <summary>
/// Ohm's law in whichever form is well scaled: v = R i up to 1 Ω, so that 0 Ω is a short, and i = v/R above, so that +∞ is open.
/// The current is an unknown of its own: a milliohm beside teraohms then costs no digits of either.
/// </summary>
internal sealed class Resistor(string name, NodeId first, NodeId second) : TwoPin(name, first, second)
{
    public override string Kind => "resistor";

    public override IReadOnlyList<SlotDefinition> Slots { get; } = [new("resistance", 1000)];

    public override void Load(Workspace w)
    {
        LoadCurrent(w);
        double ohms = w.Values[FirstSlot];
        if (Math.Abs(ohms) <= 1)
            LoadOwn(w, 1, -ohms, 0);
        else
            LoadOwn(w, 1 / ohms, -1, 0);
    }

    public override void AddNoise(Workspace w, List<NoiseSource> sources)
    {
        double ohms = w.Values[FirstSlot];
        if (!(ohms > 0) || !double.IsFinite(ohms))
            return;
        // 4kTR in series, written into whichever form the equation has.
        double density = 4 * w.ThermalOf(Index) * NoiseSource.ElementaryCharge * (ohms <= 1 ? ohms : 1 / ohms);
        sources.Add(new NoiseSource(Index, "thermal noise", density, 0, [(Branch, 1)]));
    }

    public override void AddSensitivities(Workspace w, double[] adjoint, Span<double> derivatives)
    {
        double ohms = w.Values[FirstSlot];
        double current = w.X[Branch];
        derivatives[0] += Math.Abs(ohms) <= 1 ? adjoint[Branch] * current : adjoint[Branch] * current / ohms;
    }

    public override void Load(BatchEquations e)
    {
        LoadCurrent(e);
        Expr ohms = e.Slot(FirstSlot);
        double nominal = Math.Abs(ohms.Nominal);
        if (nominal <= 1)
        {
            LoadOwn(e, e.Constant(1), -ohms, e.Constant(0));
        }
        else if (ohms.Phase < BatchEquations.Changing || double.IsPositiveInfinity(nominal))
        {
            LoadOwn(e, 1 / ohms, e.Constant(-1), e.Constant(0));
        }
        else
        {
            // A resistance that is turned or plugged in may be 0 Ω in a lane: the same law without a reciprocal, on the scale of the nominal one.
            LoadOwn(e, e.Constant(1 / nominal), ohms * (-1 / nominal), e.Constant(0));
        }
    }

    public override void Confine(BatchEquations e)
    {
        Expr ohms = e.Slot(FirstSlot);
        if (ohms.IsConstant || !e.IsHeld[Branch])
            return;
        // Where the order of elimination was found for an open, or for much less, it may not suit.
        if (double.IsInfinity(ohms.Nominal))
            e.Require(ohms >= double.PositiveInfinity);
        else if (ohms.Phase >= BatchEquations.Changing)
            e.Require(ohms <= e.Constant(GreatestGrowth * Math.Max(1, Math.Abs(ohms.Nominal))));
    }

    private const double GreatestGrowth = 1e4;
}
