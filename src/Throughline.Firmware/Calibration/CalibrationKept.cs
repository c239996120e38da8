namespace Throughline.Firmware;

/// <summary>What readings are made with, in the words of the arithmetic. Both 0 is a unit that was never calibrated.</summary>
/// <param name="Zero">In steps of <see cref="ArithmeticDesign.Zero"/>; 0 where there is none.</param>
/// <param name="Gain">In steps of <see cref="ArithmeticDesign.Gain"/>; 0 where there is none.</param>
public readonly record struct CalibrationKept(long Zero, long Gain);
