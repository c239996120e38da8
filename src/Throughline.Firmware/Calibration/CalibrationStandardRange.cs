namespace Throughline.Firmware;

/// <summary>What may be entered for a standard, in steps of the measurand.</summary>
/// <param name="Stated">The file's value.</param>
public readonly record struct CalibrationStandardRange(long Low, long High, long Stated);
