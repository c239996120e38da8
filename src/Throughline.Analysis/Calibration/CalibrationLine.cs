namespace Throughline.Analysis;

/// <summary>
/// What the code keeps of a calibration. For an electrode (see <see cref="Instruments.Sensor.ZeroSignal"/>): its signal is zero signal + offset + gain × (nominal signal − zero signal),
/// offset in V. For every other sensor: measurand = offset + gain × nominal measurand, offset in the measurand's unit.
/// </summary>
/// <param name="Offset">V or the measurand's unit.</param>
/// <param name="Gain">Without unit, about 1. The default value of this type has 0 here and makes every reading NaN or constant: begin with <see cref="Neutral"/>.</param>
public readonly record struct CalibrationLine(double Offset, double Gain)
{
    /// <summary>A unit that was never calibrated: the reading is that of the nominal sensor.</summary>
    public static CalibrationLine Neutral { get; } = new(0, 1);

    /// <summary>Compared value by value, so that a line of NaN is never neutral.</summary>
    public bool IsNeutral => Offset == 0 && Gain == 1;
}

/// <summary>What the code says to a calibration.</summary>
public enum CalibrationVerdict
{
    Accepted,

    ZeroRefused,

    SlopeRefused,

    BothRefused,

    /// <summary>No line goes through the points: the same value twice, no signal, or a number that is none.</summary>
    Impossible,
}

/// <summary>One calibration.</summary>
/// <param name="Line">What the code would keep; <see cref="CalibrationLine.Neutral"/> when <see cref="CalibrationVerdict.Impossible"/>.</param>
/// <param name="Zero">In the trade's terms: how far the sensor's zero is from the nominal one, in <see cref="Calibrator.ZeroUnit"/>; NaN when impossible.</param>
/// <param name="Slope">The sensor's slope as a ratio to the theoretical one; the nominal one after a one-point calibration; NaN when impossible.</param>
public readonly record struct CalibrationOutcome(CalibrationLine Line, double Zero, double Slope, CalibrationVerdict Verdict)
{
    public bool IsAccepted => Verdict == CalibrationVerdict.Accepted;
}
