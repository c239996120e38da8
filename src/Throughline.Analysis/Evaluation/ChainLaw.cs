using System.Runtime.CompilerServices;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What the code of an instrument has to compute, in real numbers: what integer arithmetic is derived from and judged by. Immutable and safe on any thread.</summary>
public sealed class ChainLaw
{
    // A review has built the chain already; whoever asks for the law of the same instrument need not build it again.
    private static readonly ConditionalWeakTable<Instrument, ChainLaw> Known = [];

    private readonly Evaluator _evaluator;

    private ChainLaw(Evaluator evaluator)
    {
        _evaluator = evaluator;
        (LeastCode, GreatestCode) = evaluator.CodeRange;
        (LeastLine, GreatestLine) = AcceptedLines();
    }

    /// <summary>The law of an instrument; null when it has no converter or no arithmetic.</summary>
    public static ChainLaw? Of(Instrument instrument)
    {
        if (Known.TryGetValue(instrument, out ChainLaw? known))
        {
            return known;
        }

        return instrument.Stages.OfType<ArithmeticStage>().Any() && instrument.Stages.OfType<ConverterStage>().Any() ? Hold(new Evaluator(Model.Compile(instrument))) : null;
    }

    internal static ChainLaw? Hold(Evaluator evaluator)
    {
        if (evaluator.Model.Converter is null || evaluator.Model.Arithmetic is null)
        {
            return null;
        }

        ChainLaw law = new(evaluator);
        Known.AddOrUpdate(evaluator.Instrument, law);
        return law;
    }

    public Instrument Instrument => _evaluator.Instrument;

    public ConverterStage Converter => _evaluator.Model.Converter!;

    public ArithmeticStage Arithmetic => _evaluator.Model.Arithmetic!;

    public OutputConverterStage? OutputConverter => _evaluator.Model.OutputConverter;

    public double LeastCode { get; }

    public double GreatestCode { get; }

    /// <summary>The sensor's signal that the arithmetic takes a code for, V, Ω, V/V or A; NaN when it can make nothing of it.</summary>
    public double SignalOfCode(double code) => _evaluator.SignalOfCode(code);

    /// <summary>Measurand to loop current, A; null without a loop or where the scale is none.</summary>
    public Line? LoopScale => _evaluator.LoopScale;

    /// <summary>The output code for a current in A, unrounded; NaN without an output converter.</summary>
    public double OutputCodeOf(double value) => _evaluator.OutputCodeOf(value);

    /// <summary>The nearest code the output converter has.</summary>
    public double NearestOutputCode(double exact) => _evaluator.NearestOutputCode(exact);

    /// <summary>The current that the arithmetic asks for at an indicated value, A, limits and failure applied.</summary>
    public double WantedValue(double indicated) => _evaluator.WantedValue(indicated);

    /// <summary>How many standards the user calibrates in; 0 when the user does not.</summary>
    public int CalibrationPoints => _evaluator.Calibrator.Points;

    /// <summary>The value that the code takes a standard for at its temperature in °C, in the specification's unit.</summary>
    public double StandardValue(int standard, double celsius) => _evaluator.Calibrator.EnteredValue(standard, celsius);

    /// <summary>What the calibration makes of signals in standards, and what the limits say to it.</summary>
    /// <param name="signals">What the code takes the signals for, V, Ω, V/V or A.</param>
    /// <param name="values">What it takes each standard for, in the specification's unit; same length.</param>
    /// <param name="celsius">The temperature of the process that the code uses.</param>
    public CalibrationOutcome Fit(ReadOnlySpan<double> signals, ReadOnlySpan<double> values, double celsius) => _evaluator.Calibrator.Fit(signals, values, celsius, _evaluator.Nominal);

    /// <summary>The line of a sensor whose zero and slope are given as <see cref="CalibrationOutcome"/> gives them.</summary>
    public CalibrationLine LineOf(double zero, double slope) => _evaluator.Calibrator.LineOf(zero, slope);

    /// <summary>The unit of a zero: V, or the measurand's.</summary>
    public string ZeroUnit => _evaluator.Calibrator.ZeroUnit;

    /// <summary>Half width of the accepted zeros in <see cref="ZeroUnit"/>: the file's, or a tenth of the measuring range where it says nothing.</summary>
    public double AcceptedZero { get; private set; }

    /// <summary>Accepted slopes as ratios to the theoretical one: the file's, or 0.8 to 1.25 of the nominal one; the nominal one alone where one point leaves it.</summary>
    public (double Low, double High) AcceptedSlope { get; private set; }

    /// <summary>Whether accepted slopes are bounded away from nothing by the file.</summary>
    public bool LimitsSlope { get; private set; }

    /// <summary>Least offset and least gain of the lines that a calibration may leave. Where the file sets no limit, those of <see cref="GreatestLine"/> and these
    /// are the code's own: a tenth of the measuring range for the zero, 0.8 to 1.25 for the slope.</summary>
    public CalibrationLine LeastLine { get; }

    public CalibrationLine GreatestLine { get; }

    /// <summary>What the calibrated code makes of a signal, in the specification's unit; NaN when it can make nothing of it.</summary>
    /// <param name="line">As kept by the last calibration.</param>
    /// <param name="signal">V, Ω, V/V or A.</param>
    /// <param name="celsius">The process temperature that the code uses, °C.</param>
    public double Indicated(CalibrationLine line, double signal, double celsius) => _evaluator.Calibrator.Indicated(line, signal, celsius, _evaluator.Nominal);

    private (CalibrationLine Least, CalibrationLine Greatest) AcceptedLines()
    {
        Calibrator calibrator = _evaluator.Calibrator;
        if (calibrator.Points == 0)
        {
            return (CalibrationLine.Neutral, CalibrationLine.Neutral);
        }

        QuantityRange range = Instrument.Specification.Range;
        double nominal = Instrument.Sensor.ZeroSignal is null ? 1 : Instrument.Sensor.NominalSlope;
        double zero = calibrator.AcceptZero;
        if (!double.IsFinite(zero))
        {
            double ends = _evaluator.Instrument.Sensor.NominalSignal(range.High, UnitState.ReferenceCelsius) - _evaluator.Instrument.Sensor.NominalSignal(range.Low, UnitState.ReferenceCelsius);
            zero = Math.Abs(calibrator.ZeroUnit == "V" && Instrument.Specification.Dimension != Dimension.Voltage ? ends : range.Width) / 10;
        }

        (double low, double high) = calibrator.AcceptSlope;
        LimitsSlope = calibrator.Points == 1 || (low > 0 && double.IsFinite(high));
        (low, high) = calibrator.Points == 1 ? (nominal, nominal) : (low > 0 ? low : 0.8 * nominal, double.IsFinite(high) ? high : 1.25 * nominal);
        (AcceptedZero, AcceptedSlope) = (zero, (low, high));
        CalibrationLine[] corners = [calibrator.LineOf(-zero, low), calibrator.LineOf(-zero, high), calibrator.LineOf(zero, low), calibrator.LineOf(zero, high)];
        return (new(corners.Min(l => l.Offset), corners.Min(l => l.Gain)), new(corners.Max(l => l.Offset), corners.Max(l => l.Gain)));
    }
}
