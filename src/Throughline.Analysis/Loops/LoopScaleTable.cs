using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop's currents and their meaning: quarters of the scale, limits, failure, output test.</summary>
internal static class LoopScaleTable
{
    /// <summary>The rows, rising by current; none without a scale.</summary>
    public static ImmutableArray<LoopScaleRow> Of(Evaluator evaluator)
    {
        if (evaluator.Instrument.Loop is not { } loop || evaluator.LoopScale is not { } scale)
        {
            return [];
        }

        (double low, double high) = Ends(scale);
        List<(string Name, double Value)> rows = [];
        for (int quarter = 0; quarter <= 4; quarter++)
        {
            double x = evaluator.Instrument.Specification.Range.Low + (evaluator.Instrument.Specification.Range.Width * quarter / 4);
            double value = scale.Forward(x);
            rows.Add((Engineering.Percent((value - low) / (high - low), 3), value));
        }

        Add("under", loop.Under?.Value);
        Add("over", loop.Over?.Value);
        Add("failure", loop.Failure?.Value);
        Add("test from", loop.Test?.Low);
        Add("test to", loop.Test?.High);
        return [.. rows.OrderBy(r => r.Value).Select(r => Row(evaluator, loop, scale, r.Name, r.Value))];

        void Add(string name, double? value)
        {
            if (value is { } a)
            {
                rows.Add((name, a));
            }
        }
    }

    /// <summary>Chosen currents read back.</summary>
    public static ImmutableArray<LoopScaleRow> Read(Evaluator evaluator, IReadOnlyList<double> values) =>
        evaluator.Instrument.Loop is { } loop && evaluator.LoopScale is { } scale ? [.. values.Select(a => Row(evaluator, loop, scale, "", a))] : [];

    private static (double Low, double High) Ends(Line scale) => (Math.Min(scale.To[0], scale.To[^1]), Math.Max(scale.To[0], scale.To[^1]));

    private static LoopScaleRow Row(Evaluator evaluator, Loop loop, Line scale, string name, double value)
    {
        (double low, double high) = Ends(scale);
        double code = evaluator.OutputTransfer is null ? double.NaN : evaluator.OutputCodeOf(value);
        return new LoopScaleRow(
            name, (value - low) / (high - low), scale.Inverse(value), value, new OutputStates(loop).Classify(value), code, code * evaluator.VoltsPerOutputCode, loop.Signal.IsVoltage ? value : value * loop.Receiver.High);
    }
}
