namespace Throughline.Analysis;

/// <summary>A way in which a loop may be loaded or connected, and what then happens.</summary>
/// <param name="Kind">Which of them.</param>
/// <param name="Name">Such as <c>receiver short-circuited</c>.</param>
/// <param name="Amperes">Current in the receiver's wire, A; NaN when the network has no operating point.</param>
/// <param name="Part">The part that is strained most; null when none is.</param>
/// <param name="PartAmperes">Greatest current at a pin of it, A.</param>
/// <param name="Watts">Heat in it.</param>
/// <param name="AllowedWatts">What it stands at the greatest ambient temperature; NaN when its grade does not say.</param>
/// <param name="JunctionCelsius">Temperature of its junction; NaN when its grade does not say what it takes.</param>
/// <param name="Shift">By how much the current differs from what it should be, A; NaN where no current is asked for.</param>
/// <param name="Remark">What else there is to say.</param>
public sealed record LoopCondition(
    LoopConditionKind Kind, string Name, double Amperes, string? Part, double PartAmperes, double Watts, double AllowedWatts, double JunctionCelsius, double Shift, LoopHarm Harm, string? Remark)
{
    /// <summary>Whether a finding asks that no harm comes of it; of the others the table only says what would happen.</summary>
    public bool IsAskedFor => Kind is LoopConditionKind.RatedLoad or LoopConditionKind.ShortCircuit or LoopConditionKind.Reversed;
}
