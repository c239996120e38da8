namespace Throughline.Circuits;

/// <summary>
/// Zener diode as data sheets state it: the reverse voltage at a test current and the slope resistance there. In reverse the current grows as exp(v/VT) behind
/// a resistance, which together have the stated slope at the test current; forward it is an ordinary junction behind the same resistance.
/// </summary>
internal sealed class Zener(string name, NodeId anode, NodeId cathode) : JunctionDiode(name, anode, cathode)
{
    public override string Kind => "zener diode";

    public override IReadOnlyList<SlotDefinition> Slots { get; } =
        [new("zener voltage", 5.1), new("test current", 5e-3), new("slope resistance", 10), new("saturation current", 1e-14)];

    protected override JunctionLaw Law(Workspace w)
    {
        double test = w.Values[FirstSlot + (int)ZenerSlot.TestCurrent];
        double series = Series(w);
        return new JunctionLaw(
            w.Values[FirstSlot + (int)ZenerSlot.SaturationCurrent], 1, series, w.Values[FirstSlot + (int)ZenerSlot.Voltage] - (test * series), test);
    }

    protected override void AddLawSensitivities(Workspace w, in JunctionDerivatives by, Span<double> derivatives)
    {
        double test = w.Values[FirstSlot + (int)ZenerSlot.TestCurrent];
        double series = Series(w);
        derivatives[(int)ZenerSlot.Voltage] += by.Breakdown;
        derivatives[(int)ZenerSlot.SaturationCurrent] += by.Saturation;
        derivatives[(int)ZenerSlot.TestCurrent] += by.Knee - (by.Breakdown * series);
        if (series <= 0)
            return;
        double ofSeries = by.Series - (by.Breakdown * test);
        derivatives[(int)ZenerSlot.SlopeResistance] += ofSeries;
        derivatives[(int)ZenerSlot.TestCurrent] += ofSeries * w.ThermalOf(Index) / (test * test);
    }

    /// <summary>The stated slope less the junction's own, VT/I; none when that is already more.</summary>
    private double Series(Workspace w) =>
        Math.Max(0, w.Values[FirstSlot + (int)ZenerSlot.SlopeResistance] - (w.ThermalOf(Index) / w.Values[FirstSlot + (int)ZenerSlot.TestCurrent]));

    protected override BatchJunction Law(BatchEquations e)
    {
        Expr test = e.Slot(FirstSlot + (int)ZenerSlot.TestCurrent);
        Expr series = (e.Slot(FirstSlot + (int)ZenerSlot.SlopeResistance) - (e.Thermal(Index) / test)).AtLeast(0);
        return new BatchJunction(
            e.Slot(FirstSlot + (int)ZenerSlot.SaturationCurrent), e.Constant(1), series, e.Slot(FirstSlot + (int)ZenerSlot.Voltage) - (test * series), test);
    }
}
