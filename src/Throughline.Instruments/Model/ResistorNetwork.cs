namespace Throughline.Instruments;

/// <summary>
/// Resistors of one substrate or one reel. Each is its own resistance times one more than the common deviation: what they have in common is one
/// parameter, so that worst cases, gradients and batches move it for all of them at once.
/// </summary>
/// <param name="Common">How far all of them are from nominal together, as a ratio about zero.</param>
/// <param name="OwnTolerance">How far a single one may be from the rest, as a ratio.</param>
/// <param name="OwnDrift">How far its change per kelvin may be from that of the rest, 1/K.</param>
public sealed record ResistorNetwork(Located<string> Name, Parameter Common, double OwnTolerance, double OwnDrift, SourceSpan Span)
{
    /// <summary>The resistance that a resistor of a nominal value has of its own.</summary>
    internal Quantity Own(Quantity nominal) => nominal with
    {
        Low = nominal.Value * (1 - OwnTolerance),
        High = nominal.Value * (1 + OwnTolerance),
        Drift = nominal.Value * OwnDrift,
    };
}
