using Throughline.Analysis;

namespace Throughline.Output;

/// <summary>Words for what a loop's current means and does.</summary>
internal static class LoopWords
{
    public static string Of(LoopState state) => state switch
    {
        LoopState.FailureLow => "failure, low",
        LoopState.UnderRange => "below the range",
        LoopState.Measuring => "measuring",
        LoopState.OverRange => "above the range",
        LoopState.FailureHigh => "failure, high",
        _ => "no meaning",
    };

    public static string Of(LoopConditionKind kind) => kind switch
    {
        LoopConditionKind.RatedLoad => "rated load",
        LoopConditionKind.ShortCircuit => "short circuit",
        LoopConditionKind.Open => "open",
        LoopConditionKind.Reversed => "reversed",
        LoopConditionKind.ForeignSupply => "foreign supply",
        LoopConditionKind.ForeignSupplyReversed => "foreign supply reversed",
        LoopConditionKind.ClampLeakage => "clamp leakage",
        _ => "receiver grounded",
    };

    public static string Of(LoopHarm harm) => harm switch
    {
        LoopHarm.None => "none",
        LoopHarm.Overheated => "overheated",
        _ => "no limit stated",
    };
}
