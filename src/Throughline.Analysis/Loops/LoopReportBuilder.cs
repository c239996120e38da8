namespace Throughline.Analysis;

/// <summary>Puts together what there is to say about the far end of the chain.</summary>
internal static class LoopReportBuilder
{
    /// <summary>The report; null for an instrument without a loop.</summary>
    /// <param name="values">Values of the output to read back.</param>
    public static LoopReport? Build(CheckContext context, IReadOnlyList<double> values) =>
        context.Instrument.Loop is null
            ? null
            : new LoopReport
            {
                Scale = LoopScaleTable.Of(context.Evaluator),
                IsByRecommendation = context.States.IsByRecommendation,
                Asked = LoopScaleTable.Read(context.Evaluator, values),
                Compliance = context.Compliance,
                Map = new ComplianceMapBuilder(context).Build(),
                Conditions = context.LoopConditions,
                Noise = context.LoopNoise,
                Trim = context.TrimEffect,
            };
}
