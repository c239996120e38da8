using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// The trim of the output as numbers and indices. The code gives two whole codes; for the currents that a meter then shows it would have taken two others; the line
/// through both pairs leads from the code that it would take to the one that is right.
/// </summary>
internal sealed class OutputTrimPlan
{
    private readonly Evaluator _evaluator;
    private readonly double _accept;
    private readonly int _meterError;
    private readonly int _meterFixed;

    private OutputTrimPlan(Evaluator evaluator, LoopTrim trim, double lowCode, double highCode)
    {
        _evaluator = evaluator;
        Trim = trim;
        BenchDevice meter = evaluator.Instrument.Bench.Ammeter;
        _accept = trim.Accept.Tolerance;
        _meterError = IndexOf(meter.Error);
        _meterFixed = IndexOf(meter.Fixed);
        Low = new Current(trim.Low.Value, lowCode, IndexOf(trim.LowCounts));
        High = new Current(trim.High.Value, highCode, IndexOf(trim.HighCounts));

        int IndexOf(Parameter? parameter) => parameter is null ? -1 : evaluator.Model.Parameters.IndexOf(parameter);
    }

    /// <summary>One of the two currents.</summary>
    /// <param name="Asked">A.</param>
    /// <param name="Code">The whole code that the instrument gives for it.</param>
    /// <param name="Counts">Index of what the meter's digits are wrong by there, A; −1 for nothing.</param>
    internal readonly record struct Current(double Asked, double Code, int Counts);

    public LoopTrim Trim { get; }

    public Current Low { get; }

    public Current High { get; }

    /// <summary>The plan of an instrument; null when it trims nothing: without a trim in its file, without an output converter or a scale for it.</summary>
    public static OutputTrimPlan? Of(Evaluator evaluator)
    {
        if (evaluator.Instrument.Loop?.Trim is not { } trim || evaluator.Model.OutputConverter is null)
        {
            return null;
        }

        double low = evaluator.NearestOutputCode(evaluator.OutputCodeOf(trim.Low.Value));
        double high = evaluator.NearestOutputCode(evaluator.OutputCodeOf(trim.High.Value));
        return double.IsFinite(low) && double.IsFinite(high) && low != high ? new OutputTrimPlan(evaluator, trim, low, high) : null;
    }

    /// <summary>What the meter shows at a true current, A.</summary>
    public double Shown(UnitState state, in Current current, double truth) =>
        (truth * (1 + PlannedStep.Of(state, _meterError))) + PlannedStep.Of(state, _meterFixed) + PlannedStep.Of(state, current.Counts);

    /// <summary>Adds to the change of the true current with every parameter what the meter is wrong by, so that it becomes that of the shown one.</summary>
    public void AddMeter(double[] values, in Current current, double truth)
    {
        Add(_meterError, truth);
        Add(_meterFixed, 1);
        Add(current.Counts, 1);

        void Add(int index, double slope)
        {
            if (index >= 0)
            {
                values[index] += slope;
            }
        }
    }

    /// <summary>Greatest error of the meter at a current, A.</summary>
    public double MeterLimit(in Current current) =>
        (Limit(_meterError) * Math.Abs(current.Asked)) + Limit(_meterFixed) + Limit(current.Counts);

    /// <summary>Whether the instrument takes an entry.</summary>
    public bool IsAccepted(in Current current, double shown) => Math.Abs(shown - current.Asked) <= _accept;

    /// <summary>The trim of a unit whose true currents at the two codes are known; null when an entry is refused or no line can be had.</summary>
    public OutputTrim? Fit(UnitState state, double lowTruth, double highTruth)
    {
        (double low, double high) = (Shown(state, Low, lowTruth), Shown(state, High, highTruth));
        (double from, double to) = (_evaluator.OutputCodeOf(low), _evaluator.OutputCodeOf(high));
        double gain = (High.Code - Low.Code) / (to - from);
        return IsAccepted(Low, low) && IsAccepted(High, high) && double.IsFinite(gain) && gain > 0 ? new OutputTrim(Low.Code - (gain * from), gain) : null;
    }

    private double Limit(int index) => index < 0 ? 0 : _evaluator.Model.Parameters.High(index);
}
