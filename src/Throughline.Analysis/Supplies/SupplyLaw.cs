using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// What each kind of supply takes from its input for what it gives, and how warm it gets. Volts above the return and amperes out of the node: a negative rail
/// has both negative, and gives power like a positive one.
/// </summary>
public static class SupplyLaw
{
    /// <summary>Highest junction temperature where none is stated, °C: what most parts in plastic are rated for (common practice, no source).</summary>
    public const double JunctionLimit = 125;

    /// <summary>Current that a supply takes from its input, A, with the sign of the input's voltage.</summary>
    /// <param name="supply">Its kind and figures.</param>
    /// <param name="inputVolts">At its input, V.</param>
    /// <param name="innerVolts">At its output before its output resistance, V.</param>
    /// <param name="outputAmperes">Out of its output, A.</param>
    /// <returns>0 for a source from outside. NaN where the input has no voltage.</returns>
    /// <remarks>Series kinds: I_in = I_out (+ I_q). Shunt: I_in = (V_in − V_out) / R. Converters: P_in = P_out / η + V_in I_q; power that the circuit sends back into a converter stays in it.</remarks>
    public static double InputAmperes(Supply supply, double inputVolts, double innerVolts, double outputAmperes)
    {
        double quiescent = Math.CopySign(supply.Quiescent is { } q ? TypicalOf(q) : 0, inputVolts);
        switch (supply.Kind)
        {
            case SupplyKind.Dc or SupplyKind.Battery or SupplyKind.Loop:
                return 0;
            case SupplyKind.ProtectionDiode or SupplyKind.Fuse:
                return outputAmperes;
            case SupplyKind.ShuntRegulator:
                return FeedAmperes(supply, inputVolts, innerVolts);
            case SupplyKind.LinearRegulator or SupplyKind.Reference:
                return outputAmperes + quiescent;
            default:
                double watts = Math.Max(0, innerVolts * outputAmperes) / (supply.Efficiency?.Value ?? 1);
                return (watts / inputVolts) + quiescent;
        }
    }

    /// <summary>What feeds a shunt regulator, A: (V_in − V_out) / R, or the current of its source.</summary>
    public static double FeedAmperes(Supply supply, double inputVolts, double outputVolts) => supply.Feed switch
    {
        { Dimension: var d, Value: var ohms } when d == Dimension.Resistance => (inputVolts - outputVolts) / ohms,
        { Value: var amperes } => Math.CopySign(amperes, inputVolts),
        _ => 0,
    };

    /// <summary>Junction temperature: T_j = T_a + P R_th, °C.</summary>
    /// <param name="ambient">°C.</param>
    /// <param name="watts">W.</param>
    /// <param name="thermalResistance">Junction to ambient, K/W.</param>
    public static double JunctionCelsius(double ambient, double watts, double thermalResistance) => ambient + (watts * thermalResistance);

    /// <summary>Power at which the junction is as warm as it may be: (T_j − T_a) / R_th, W.</summary>
    public static double LargestWatts(double junctionLimit, double ambient, double thermalResistance) => (junctionLimit - ambient) / thermalResistance;

    /// <summary>Loss of a linear regulator: (V_in − V_out) I_out + V_in I_q, W.</summary>
    public static double LinearLoss(double inputVolts, double outputVolts, double outputAmperes, double quiescentAmperes) =>
        ((inputVolts - outputVolts) * outputAmperes) + (inputVolts * quiescentAmperes);

    /// <summary>Loss of a converter at an efficiency: P_out (1/η − 1), W.</summary>
    public static double ConverterLoss(double outputWatts, double efficiency) => outputWatts * ((1 / efficiency) - 1);

    /// <summary>Output resistance of a switched-capacitor converter, Ω: 2 R_sw + 1/(f C) + 4 ESR of the pump capacitor and 1 of the reservoir.</summary>
    /// <param name="switchOhms">Sum of the resistances of the switches that carry current in one half of a period, Ω.</param>
    /// <param name="pumpHertz">Frequency of the pump, half of that of an oscillator which is divided by two, Hz.</param>
    /// <param name="pumpFarads">Pump capacitor, F.</param>
    /// <param name="seriesOhms">Series resistance of each capacitor, Ω.</param>
    public static double ChargePumpOhms(double switchOhms, double pumpHertz, double pumpFarads, double seriesOhms) =>
        (2 * switchOhms) + (1 / (pumpHertz * pumpFarads)) + (5 * seriesOhms);

    /// <summary>Ripple of a switched-capacitor converter from peak to peak: I (2 ESR + 1/(2 f C)), V.</summary>
    public static double ChargePumpRipple(double amperes, double pumpHertz, double reservoirFarads, double seriesOhms) =>
        amperes * ((2 * seriesOhms) + (1 / (2 * pumpHertz * reservoirFarads)));

    /// <summary>The ratio of ripple at a supply's input to that at its output at a frequency; between two stated frequencies on a straight line of the logarithms,
    /// beyond them as at the nearest. Not stated: 1 for what regulates linearly or is in series, infinite for what switches or takes away.</summary>
    public static double Rejection(Supply supply, double hertz)
    {
        if (supply.RippleRejection is { IsEmpty: false } points)
        {
            double Of(int i) => double.IsFinite(points[i].To.Low) ? points[i].To.Low : points[i].To.Value;
            if (hertz <= points[0].From.Value)
            {
                return Of(0);
            }

            for (int i = 1; i < points.Length; i++)
            {
                if (hertz <= points[i].From.Value)
                {
                    double share = Math.Log(hertz / points[i - 1].From.Value) / Math.Log(points[i].From.Value / points[i - 1].From.Value);
                    return Of(i - 1) * Math.Pow(Of(i) / Of(i - 1), share);
                }
            }

            return Of(points.Length - 1);
        }

        return supply.Kind is SupplyKind.LinearRegulator or SupplyKind.ProtectionDiode or SupplyKind.Fuse ? 1 : double.PositiveInfinity;
    }

    /// <summary>A current as stated: its typical value.</summary>
    private static double TypicalOf(Quantity quantity) => quantity.Value;
}
