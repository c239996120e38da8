using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>What one calibration is computed from, as whole numbers; one of each for every standard, in the order asked for.</summary>
/// <param name="Entered">The standard's value as entered, in steps of the measurand.</param>
/// <param name="Temperature">0.01 °C; ignored where no temperature counts.</param>
/// <param name="Taken">The uncalibrated number taken in it.</param>
public sealed record CalibrationInputs(ImmutableArray<long> Entered, ImmutableArray<long> Temperature, ImmutableArray<long> Taken);
