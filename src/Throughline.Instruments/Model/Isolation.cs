namespace Throughline.Instruments;

/// <summary>What a part states of the isolation between its two sides, its withstand voltage apart.</summary>
public sealed record Insulation
{
    /// <summary>V, for all time.</summary>
    public Quantity? WorkingVoltage { get; init; }

    /// <summary>Shortest way along a surface, m.</summary>
    public Quantity? Creepage { get; init; }

    /// <summary>Shortest way through air, m.</summary>
    public Quantity? Clearance { get; init; }

    /// <summary>Ω; null when not said.</summary>
    public Quantity? Resistance { get; init; }

    /// <summary>F; null when not said.</summary>
    public Quantity? Capacitance { get; init; }
}

/// <summary>What the isolation between the domains has to be, and what it has to keep apart.</summary>
public sealed record IsolationNeeds
{
    /// <summary>Isolation voltage of every part that crosses, V.</summary>
    public Quantity? Withstands { get; init; }

    public Quantity? WorkingVoltage { get; init; }

    public Quantity? Creepage { get; init; }

    public Quantity? Clearance { get; init; }

    /// <summary>The node that is grounded in the process, and the one that is grounded at the receiver; null when nothing is said.</summary>
    public (Located<string> Process, Located<string> Receiver)? Grounded { get; init; }

    /// <summary>Voltage between the two grounds, V.</summary>
    public Quantity? GroundDifference { get; init; }

    /// <summary>Its frequency, Hz; 0 is direct current.</summary>
    public double GroundHertz { get; init; }

    public SourceSpan Span { get; init; }
}
