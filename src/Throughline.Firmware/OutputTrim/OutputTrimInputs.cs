namespace Throughline.Firmware;

/// <summary>What goes into the whole numbers of the output's trim.</summary>
/// <param name="Low">What the meter showed at the lower current, in steps of the entry.</param>
/// <param name="High">The same at the higher one.</param>
/// <param name="Steps">The code that is asked for, in steps of <see cref="OutputTrimDesign.StepsPerCode"/> to a code.</param>
/// <param name="Offset">As kept.</param>
/// <param name="Gain">As kept.</param>
public readonly record struct OutputTrimInputs(long Low, long High, long Steps, long Offset, long Gain);
