namespace Throughline.Instruments;

/// <summary>The trim of the output at two values: the instrument gives each in turn, a person enters what a meter shows. All values in the unit of the output, A or V.</summary>
public sealed record LoopTrim
{
    /// <summary>The lower value that is asked for.</summary>
    public required Quantity Low { get; init; }

    /// <summary>The higher one; above <see cref="Low"/>.</summary>
    public required Quantity High { get; init; }

    /// <summary>How far a shown value may be from the one asked for before the entry is refused; less than half of what lies between the two.</summary>
    public required Quantity Accept { get; init; }

    /// <summary>What is shown is entered in whole steps of this.</summary>
    public required double Step { get; init; }

    /// <summary>What the meter's digits and the step of the entry may be wrong by at the lower value, about 0.</summary>
    public required Parameter LowCounts { get; init; }

    /// <summary>The same at the higher value.</summary>
    public required Parameter HighCounts { get; init; }

    public SourceSpan Span { get; init; }
}
