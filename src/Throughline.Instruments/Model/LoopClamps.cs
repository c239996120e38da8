namespace Throughline.Instruments;

/// <summary>Surge clamps across the instrument's terminals, as the loop sees them: a current beside the instrument's own.</summary>
public sealed record LoopClamps
{
    /// <summary>Current from the first terminal to the second at 25 °C, A.</summary>
    public required Parameter Leakage { get; init; }

    /// <summary>Rise of temperature that doubles it, K; null when it does not depend on temperature.</summary>
    public Quantity? Doubling { get; init; }

    public SourceSpan Span { get; init; }

    /// <summary>The leakage of a unit, A: I(25 °C) 2^((t − 25 °C)/ΔT). That leakage doubles by a fixed step is common practice, no source.</summary>
    public Law Law => state => state.Value(Leakage) * Factor(state.AmbientCelsius);

    /// <summary>Leakage over that at 25 °C.</summary>
    public double Factor(double celsius) => Doubling is { } step ? Math.Pow(2, (celsius - 25) / step.Value) : 1;
}
