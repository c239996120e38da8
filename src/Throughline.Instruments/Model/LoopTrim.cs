namespace Throughline.Instruments;

/// <summary>The trim of the output at two currents: the instrument gives each in turn, a person enters what a meter in the loop shows.</summary>
public sealed record LoopTrim
{
    /// <summary>The lower current that is asked for, A.</summary>
    public required Quantity Low { get; init; }

    /// <summary>The higher one, A; above <see cref="Low"/>.</summary>
    public required Quantity High { get; init; }

    /// <summary>How far a shown current may be from the one asked for before the entry is refused, A; null when nothing is refused.</summary>
    public Quantity? Accept { get; init; }

    /// <summary>What the meter's digits may be wrong by at the lower current, A, about 0; null when they are not said.</summary>
    public Parameter? LowCounts { get; init; }

    /// <summary>The same at the higher current.</summary>
    public Parameter? HighCounts { get; init; }

    public SourceSpan Span { get; init; }
}
