namespace Throughline.Analysis;

/// <summary>A value of the output and what it means, in both directions.</summary>
/// <param name="Name">Such as <c>25 %</c>, <c>under</c>, <c>failure</c>, <c>test from</c>.</param>
/// <param name="Percent">Of the scale between its ends: 0 to 1, beyond it less or more.</param>
/// <param name="Measurand">What the receiver reads from it by the scale, in the specification's unit.</param>
/// <param name="Value">A or V.</param>
/// <param name="State">What it means to a receiver: by NAMUR NE 43 for a current with a live zero, else by the instrument's own limits and failure level.</param>
/// <param name="Code">Code of the output converter for it, unrounded; NaN without a converter.</param>
/// <param name="DriveVolts">What the converter then gives, V; NaN without one.</param>
/// <param name="ReceiverVolts">Voltage across the greatest receiver, V.</param>
public sealed record LoopScaleRow(
    string Name, double Percent, double Measurand, double Value, LoopState State, double Code, double DriveVolts, double ReceiverVolts);
