using System.Collections.Immutable;
using Throughline.Instruments;

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
        new ScaleCheck(OutputSignal.Current),
        new ScaleCheck(OutputSignal.Voltage),
        new OutputScalingCheck(),
        new OutputRangeCheck(),
        new LoopResolutionCheck(OutputSignal.Current),
        new LoopResolutionCheck(OutputSignal.Voltage),
        new PulseRippleCheck(),
        new LoopBudgetCheck(),
        new LiftOffCheck(),
        new LoopFollowsCheck(OutputSignal.Current),
        new LoopFollowsCheck(OutputSignal.Voltage),
        new LoopAccuracyCheck(OutputSignal.Current),
        new LoopAccuracyCheck(OutputSignal.Voltage),
        new FailureLevelCheck(OutputSignal.Current),
        new FailureLevelCheck(OutputSignal.Voltage),
        new LoopStatesCheck(OutputSignal.Current),
        new LoopStatesCheck(OutputSignal.Voltage),
        new OutputTestCheck(),
        new OutputTrimReachCheck(),
        new OutputTrimWorthCheck(),
        new ComplianceCheck(OutputSignal.Current),
        new ComplianceCheck(OutputSignal.Voltage),
        new OutputDissipationCheck(),
        new ReversedLoopCheck(),
        new LoopClampCheck(),
        new CommunicationLoadCheck(),
        new LoopNoiseCheck(OutputSignal.Current),
        new LoopNoiseCheck(OutputSignal.Voltage),
        new FaultSignallingCheck(),
        new SupplyCurrentCheck(),
        new SupplyHeadroomCheck(),
        new JunctionTemperatureCheck(),
        new ConsumersCheck(),
        new SupplyRippleCheck(),
        new StartUpCheck(OutputSignal.Current),
        new StartUpCheck(OutputSignal.Voltage),
        new BrownOutCheck(OutputSignal.Current),
        new BrownOutCheck(OutputSignal.Voltage),
        new BatteryCheck(),
        new BarrierCheck(),
        new GroundLeakageCheck(),
    ];

    /// <summary>
    /// The checks that are run side by side, as indices into <see cref="All"/>: those of one lane share what is costly — worst cases, adjustment and budgets in the first;
    /// dynamics and the loop's extremes in the second; the supplies in the third.
    /// </summary>
    public static ImmutableArray<ImmutableArray<int>> Lanes { get; } =
        [.. Enumerable.Range(0, 3).Select(lane => Enumerable.Range(0, All.Length).Where(i => LaneOf(All[i]) == lane).ToImmutableArray())];

    private static int LaneOf(Check check) => check switch
    {
        StabilityCheck or MainsRejectionCheck or DisplayNoiseCheck or ResponseTimeCheck or FaultSignallingCheck
            or PulseRippleCheck or LoopNoiseCheck or LoopBudgetCheck or LiftOffCheck
            or FailureLevelCheck or LoopStatesCheck or OutputTestCheck or ComplianceCheck or OutputDissipationCheck or ReversedLoopCheck or LoopClampCheck or CommunicationLoadCheck => 1,
        SupplyCurrentCheck or SupplyHeadroomCheck or JunctionTemperatureCheck or ConsumersCheck or SupplyRippleCheck or StartUpCheck or BrownOutCheck or BatteryCheck
            or BarrierCheck or GroundLeakageCheck => 2,
        _ => 0,
    };
}
