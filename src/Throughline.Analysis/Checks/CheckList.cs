using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Every check, in the order in which a chain is reviewed.</summary>
internal static class CheckList
{
    public static ImmutableArray<Check> All { get; } =
    [
        new CostCheck(),
        new NodesConnectedCheck(),
        new IsolationCheck(),
        new SensorPolarityCheck(),
        new IntentCheck(),
        new AdjustmentIntentCheck(),
        new AdjustmentReachCheck(),
        new TrimFinenessCheck(),
        new AdjustmentOrderCheck(),
        new BenchAccuracyCheck(),
        new AmplifierSupplyCheck(),
        new OutputHeadroomCheck(),
        new InputRangeCheck(),
        new BiasCurrentCheck(),
        new ClampLeakageCheck(),
        new SourceLoadingCheck(),
        new ReferenceSideCheck(),
        new SupplyShareCheck(),
        new SensorInfluenceCheck(),
        new SelfHeatingCheck(),
        new CalibrationAcceptanceCheck(),
        new CalibrationIntervalCheck(),
        new StabilityCheck(),
        new ConverterRangeUsedCheck(),
        new ConverterRangeCheck(),
        new ConverterPinsCheck(),
        new MainsRejectionCheck(),
        new DisplayStepCheck(),
        new DisplayNoiseCheck(),
        new ScalingCheck(),
        new DisplayFollowsCheck(),
        new DisplayAccuracyCheck(),
        new ResponseTimeCheck(),
        new ScaleCheck(),
        new OutputScalingCheck(),
        new OutputRangeCheck(),
        new LoopResolutionCheck(),
        new LoopFollowsCheck(),
        new LoopAccuracyCheck(),
        new FailureCurrentCheck(),
        new ComplianceCheck(),
        new FaultSignallingCheck(),
    ];
}
