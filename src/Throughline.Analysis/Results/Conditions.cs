namespace Throughline.Analysis;

/// <summary>The conditions of one operating point.</summary>
/// <param name="Ambient">°C.</param>
/// <param name="Process">°C.</param>
/// <param name="SupplyShift">Position of every outside supply between its limits: −1 lowest, 0 nominal, 1 highest.</param>
/// <param name="Load">Resistance in the loop, Ω.</param>
public sealed record Conditions(double Ambient, double Process, double SupplyShift, double Load)
{
    /// <summary>Time since the last calibration, s.</summary>
    public double AgeSeconds { get; init; }
}
