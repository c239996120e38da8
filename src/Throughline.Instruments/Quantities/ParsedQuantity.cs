namespace Throughline.Instruments;

/// <summary>What a text says as a quantity of a form, and what about its numbers can't be.</summary>
internal sealed class ParsedQuantity
{
    public Dimension Dimension { get; set; }

    public double Value { get; set; }

    public double Low { get; set; }

    public double High { get; set; }

    public double Drift { get; set; }

    public double SignedDrift { get; set; }

    /// <summary>Written as a stretch from a low to a high value.</summary>
    public bool IsRange { get; set; }

    /// <summary>Written without a unit.</summary>
    public bool IsBare { get; set; }

    /// <summary>Written as a tolerance alone.</summary>
    public bool IsAlone { get; set; }

    public bool HasSuffix { get; set; }

    /// <summary>Written with typ, min or max.</summary>
    public bool HasTypical { get; set; }

    public bool HasMinimum { get; set; }

    public bool HasMaximum { get; set; }

    /// <summary>Why the numbers don't fit each other or physics; null when they do.</summary>
    public QuantityProblem? Problem { get; set; }

    public Quantity ToQuantity(SourceSpan span, string text) => new(Dimension, Value, Low, High, Drift, SignedDrift, span, text);

    public QuantityRange ToRange(SourceSpan span, string text) => new(Dimension, Low, High, span, text);
}

/// <summary>A quantity that is written well and can't be: the message's three parts.</summary>
internal sealed record QuantityProblem(string Code, string Message, string Expected, string? Mend = null);
