using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What a contribution moves.</summary>
internal enum ContributionTarget
{
    /// <summary>A parameter's value at the reference temperature.</summary>
    Value,

    /// <summary>A parameter's change per kelvin of ambient temperature.</summary>
    Drift,

    /// <summary>How a converter's nonlinearity, whose size is a parameter, is shared between a bow and an S; −1 to 1.</summary>
    Bend,

    /// <summary>A condition from outside, while the instrument is in use: ambient temperature, process temperature, age, load.</summary>
    Condition,

    /// <summary>The voltage of a supply from outside, while the instrument is in use.</summary>
    OutsideSupply,

    /// <summary>The temperature of the standards when the user calibrates, °C.</summary>
    StandardTemperature,
}

/// <summary>Something that makes one unit, or one day of a unit, differ from another.</summary>
/// <param name="Name">Unique in the instrument; its stream of random numbers goes by it.</param>
/// <param name="Owner">The part, supply, stage or place it comes from, such as <c>R1</c>.</param>
/// <param name="Stage">The stage that the owner belongs to.</param>
/// <param name="Unit">Of the distribution; empty for ratios.</param>
/// <param name="Distribution">Of the quantity itself, or, for drifts and errors, of the deviation.</param>
/// <param name="Centre">What the quantity is when nothing deviates: the stated value.</param>
/// <param name="Index">Of the parameter, of the condition (<see cref="UnitState.Of"/>), of the converter (0 input, 1 output).</param>
internal sealed record Contribution(
    string Name, string Owner, string Stage, string Unit, Distribution Distribution, double Centre, ContributionTarget Target, int Index, SourceSpan Span)
{
    /// <summary>The greatest distance from the centre that its limits allow; for a normal distribution, what the file calls its limits.</summary>
    public required double Limit { get; init; }
}
