namespace Throughline.Analysis;

/// <summary>What a receiver may take a loop current to mean.</summary>
public enum LoopState
{
    /// <summary>At or below 3.6 mA: failure, or a broken wire.</summary>
    FailureLow,

    /// <summary>3.8 mA to the start of the scale: a valid reading below the measuring range.</summary>
    UnderRange,

    /// <summary>4 to 20 mA.</summary>
    Measuring,

    /// <summary>The end of the scale to 20.5 mA: a valid reading above the measuring range.</summary>
    OverRange,

    /// <summary>At or above 21 mA: failure.</summary>
    FailureHigh,

    /// <summary>Between 3.6 and 3.8 mA or between 20.5 and 21 mA: no meaning is assigned.</summary>
    Undecided,
}

/// <summary>
/// The arithmetic of the 4 to 20 mA loop (IEC 60381-1:1982) and the meaning of its currents (NAMUR NE 43, edition 2003). Amperes, volts and ohms.
/// </summary>
public static class LoopSignals
{
    /// <summary>Start and end of the scale, A (IEC 60381-1).</summary>
    public const double ScaleLow = 0.004;

    public const double ScaleHigh = 0.020;

    /// <summary>Least and greatest current of a valid reading, A (NE 43).</summary>
    public const double MeasuringLow = 0.0038;

    public const double MeasuringHigh = 0.0205;

    /// <summary>At and below this current a failure is signalled, A (NE 43).</summary>
    public const double FailureLow = 0.0036;

    /// <summary>At and above this current a failure is signalled, A (NE 43).</summary>
    public const double FailureHigh = 0.0210;

    // A limit written as 3.6 mA and computed as 0.0036 may differ in the last bit; a picoampere decides nothing.
    private const double Hair = 1e-12;

    /// <summary>What NE 43 says that a current means. NaN is undecided.</summary>
    public static LoopState Classify(double amperes) => amperes switch
    {
        <= FailureLow + Hair => LoopState.FailureLow,
        >= FailureHigh - Hair => LoopState.FailureHigh,
        >= ScaleLow - Hair and <= ScaleHigh + Hair => LoopState.Measuring,
        >= MeasuringLow - Hair and < ScaleLow => LoopState.UnderRange,
        > ScaleHigh and <= MeasuringHigh + Hair => LoopState.OverRange,
        _ => LoopState.Undecided,
    };

    /// <summary>Part of the scale of a current: 0 at 4 mA, 1 at 20 mA.</summary>
    public static double Fraction(double amperes) => (amperes - ScaleLow) / (ScaleHigh - ScaleLow);

    /// <summary>The current of a value, A: 4 mA at <paramref name="lower"/>, 20 mA at <paramref name="upper"/>, straight between and beyond.</summary>
    public static double Current(double value, double lower, double upper) =>
        ScaleLow + (ScaleHigh - ScaleLow) * (value - lower) / (upper - lower);

    /// <summary>The value of a current; the reverse of <see cref="Current"/>.</summary>
    public static double Value(double amperes, double lower, double upper) => lower + (upper - lower) * Fraction(amperes);

    /// <summary>The current of a logarithmic value whose antilogarithm is put out in proportion, A: 4 mA + 16 mA (10^x − 10^a) / (10^b − 10^a).</summary>
    public static double AntilogarithmicCurrent(double value, double lower, double upper) =>
        Current(Math.Pow(10, value - upper), Math.Pow(10, lower - upper), 1);

    /// <summary>Greatest resistance of receiver and wires, Ω: (V − V_lift-off) / I. The current is the greatest that the transmitter shall drive, its failure
    /// current and not 20 mA.</summary>
    /// <param name="supplyVolts">Lowest voltage in the loop, V.</param>
    /// <param name="liftOffVolts">Least voltage that the transmitter needs at that current, V.</param>
    /// <param name="amperes">A, positive.</param>
    public static double LargestLoad(double supplyVolts, double liftOffVolts, double amperes) => (supplyVolts - liftOffVolts) / amperes;

    /// <summary>Least voltage that a loop needs at a current, V: V_lift-off + I R.</summary>
    public static double SupplyNeeded(double liftOffVolts, double amperes, double loadOhms) => liftOffVolts + amperes * loadOhms;

    /// <summary>Power that the output element turns into heat, W: (V − I R) I.</summary>
    public static double OutputDissipation(double supplyVolts, double amperes, double loadOhms) => (supplyVolts - amperes * loadOhms) * amperes;

    /// <summary>One step of an output converter, A.</summary>
    /// <param name="fullScaleAmperes">Current from the lowest to one above the highest code, A.</param>
    /// <param name="bits">Bits of the converter.</param>
    public static double Step(double fullScaleAmperes, int bits) => Math.ScaleB(fullScaleAmperes, -bits);
}
