namespace Throughline.Instruments;

/// <summary>What digital communication on top of the current asks of the loop.</summary>
public sealed record LoopCommunication
{
    /// <summary>Resistance that the loop has to have, Ω.</summary>
    public required Quantity LeastLoad { get; init; }

    /// <summary>Resistance that it may have, Ω; null when not said.</summary>
    public Quantity? GreatestLoad { get; init; }

    public SourceSpan Span { get; init; }
}
