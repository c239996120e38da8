using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// The calibration of an instrument in whole numbers: from the readings taken in standards, their temperatures and their values as entered to what the arithmetic keeps, and to the judgement. Immutable; safe on any thread.
/// </summary>
/// <remarks>
/// With u the uncalibrated numbers and t what they should be, the slope is found as a ratio ρ, by which it differs from the nominal one: of two standards ρ = (Δu − Δt) / Δt, of more by least squares. The divisor is so
/// the distance of the standards, not that of two readings: no sensor, however dead, makes it zero. Only three or more standards of a sensor that is no electrode are divided by the spread of the readings, as the exact computation does.
/// Slopes and zeros are judged before anything is kept.
/// </remarks>
public sealed class CalibrationDesign
{
    /// <summary>One step of a slope that is shown.</summary>
    public const double SlopeStep = 0.001;

    private static readonly ConditionalWeakTable<Instrument, CalibrationDesign> Known = [];

    internal CalibrationDesign(ArithmeticDesign arithmetic) => Arithmetic = arithmetic;

    /// <summary>Whose kept numbers it makes.</summary>
    public ArithmeticDesign Arithmetic { get; }

    public ChainLaw Law => Arithmetic.Law;

    /// <summary>Why there is none; null when there is.</summary>
    public string? Trouble { get; internal set; }

    /// <summary>Standards that the user calibrates in, at least one.</summary>
    public int Points { get; internal set; }

    /// <summary>What may be entered for each.</summary>
    public ImmutableArray<CalibrationStandardRange> Standards { get; internal set; } = [];

    public IntegerProgram Program { get; internal set; } = new(32);

    /// <summary>For each standard: its value as entered, its temperature (empty where none counts), what was taken in it, and its value at that temperature.</summary>
    public ImmutableArray<Node> Entered { get; internal set; } = [];

    public ImmutableArray<Node> Temperatures { get; internal set; } = [];

    public ImmutableArray<Node> Taken { get; internal set; } = [];

    /// <summary>Differences of the standards' values, every pair once; judged by <see cref="Apart"/>.</summary>
    public ImmutableArray<Node> Distances { get; internal set; } = [];

    /// <summary>Least distance of the standards in steps of the measurand; 0 where the file states none.</summary>
    public long Apart { get; internal set; }

    /// <summary>What the ratio is divided by, before it is held away from zero; null of one standard.</summary>
    public Node? Spread { get; internal set; }

    /// <summary>Below this size of <see cref="Spread"/> the calibration is refused; 0 where it is known to be larger, or not known at all.</summary>
    public Int128 LeastSpread { get; internal set; }

    /// <summary>Whether <see cref="Spread"/> is that of the readings: then a small one is a matter of the slope.</summary>
    public bool DividesByReadings { get; internal set; }

    /// <summary>Of three or more standards: how far each is off from the first, and how far it may be for a line; beyond that the slope is refused whatever least squares make of it.</summary>
    public ImmutableArray<(Node Off, Int128 Most)> Scatter { get; internal set; } = [];

    /// <summary>ρ; null of one standard.</summary>
    public Node? Ratio { get; internal set; }

    public Int128 RatioLow { get; internal set; }

    public Int128 RatioHigh { get; internal set; }

    /// <summary>The zero that is judged when the slope is good.</summary>
    public Node Zero { get; internal set; } = null!;

    /// <summary>The zero that is judged when the slope is not good: the ratio behind it is coarser and goes farther.</summary>
    public Node RoughZero { get; internal set; } = null!;

    public Int128 ZeroLow { get; internal set; }

    public Int128 ZeroHigh { get; internal set; }

    public Node ShownSlope { get; internal set; } = null!;

    public Node ShownZero { get; internal set; } = null!;

    /// <summary>One step of a zero that is shown, in <see cref="ZeroUnit"/>.</summary>
    public double ZeroStep => ShownZero.Step;

    /// <summary>V, or the measurand's unit.</summary>
    public string ZeroUnit => Law.ZeroUnit;

    public Node KeptZero { get; internal set; } = null!;

    public Node? KeptGain { get; internal set; }

    /// <summary>How far readings of a steady sensor may lie apart, in steps of <see cref="ArithmeticDesign.Uncalibrated"/>.</summary>
    public long SteadyWithin { get; internal set; }

    /// <summary>For how long; 0 where the file states nothing.</summary>
    public long SteadyMilliseconds { get; internal set; }

    public bool EntriesCountAtOnce { get; internal set; }

    /// <summary>What the whole numbers of a calibration may add to any later reading, in the measurand's unit: five times what the arithmetic itself may, which is half a step of the display where nothing is stated.
    /// It is the same for every reading until the next calibration and never moves what is shown by more than showing itself does; standards are far less certain.</summary>
    public double Allowed => 5 * Arithmetic.Allowed;

    /// <summary>A bound of what they do add, for every accepted calibration and every reading in the region that counts.</summary>
    public double Bound { get; internal set; }

    /// <summary>Size of the measurand that a step of an uncalibrated number's unit makes, at 25 °C.</summary>
    public double MeasurandPerUncalibrated { get; internal set; } = 1;

    /// <summary>The least distance of two standards that the entries allow, with the temperature at which it is reached, in the measurand's unit.</summary>
    public (double Distance, double Celsius) Nearest { get; internal set; }

    /// <summary>The design of an instrument; null when it has no arithmetic that is known to be done, or the user does not calibrate.</summary>
    public static CalibrationDesign? Of(Instrument instrument)
    {
        if (Known.TryGetValue(instrument, out CalibrationDesign? known))
        {
            return known;
        }

        if (ArithmeticDesign.Of(instrument) is not { Trouble: null } arithmetic || arithmetic.Law.CalibrationPoints == 0)
        {
            return null;
        }

        CalibrationDesign design = CalibrationBuilder.Build(arithmetic);
        Known.AddOrUpdate(instrument, design);
        return design;
    }

    /// <summary>Whether least squares had to take places from their weights, and wider products would give them back.</summary>
    public bool IsShortOfBits { get; internal set; }

    /// <summary>Whether every number fits its word and nothing can be divided by zero.</summary>
    public bool IsSound => Trouble is null && Program.Fits && ZeroDivisors.IsEmpty;

    /// <summary>Divisors that can be 0.</summary>
    public ImmutableArray<Node> ZeroDivisors => [.. Program.Nodes.Where(n => n.Operation == Operation.Divide).Select(n => Program.Nodes[n.Arguments[1]]).Where(d => d.CanBeZero)];

    /// <summary>A reading as a calibration takes it: held to what there can be.</summary>
    public (long Uncalibrated, long Temperature) HeldReading(long uncalibrated, long temperature) => (
        (long)Int128.Clamp(uncalibrated, Arithmetic.Uncalibrated.Low, Arithmetic.Uncalibrated.High),
        Temperatures.IsEmpty ? 0 : (long)Int128.Clamp(temperature, Temperatures[0].Low, Temperatures[0].High));

    /// <summary>Kept numbers held to the ranges that the arithmetic is proved for.</summary>
    public CalibrationKept Held(CalibrationKept kept) => new(
        Arithmetic.Zero is { } z ? (long)Int128.Clamp(kept.Zero, z.Low, z.High) : 0,
        Arithmetic.Gain is { } g ? (long)Int128.Clamp(kept.Gain, g.Low, g.High) : 0);

    /// <summary>Runs it.</summary>
    /// <param name="numbers">One for each node of the program.</param>
    /// <returns>False where something is divided by zero.</returns>
    public bool Run(CalibrationInputs inputs, Span<Int128> numbers, bool inWords)
    {
        Span<Int128> given = stackalloc Int128[3 * Points];
        int count = 0;
        for (int i = 0; i < Points; i++)
        {
            given[count++] = inputs.Entered[i];
            if (!Temperatures.IsEmpty)
            {
                given[count++] = inputs.Temperature[i];
            }

            given[count++] = inputs.Taken[i];
        }

        return inWords ? Program.RunInWords(given[..count], numbers) : Program.RunExact(given[..count], numbers);
    }

    /// <summary>What the standard is really taken for, in the measurand's unit.</summary>
    public double ExactValue(int standard, long entered, long temperature) =>
        (entered * Arithmetic.Measurand.Step) + (Law.Instrument.Calibration is { FollowsTemperature: true } c ? c.Standards[standard].At(Celsius(temperature)) - c.Standards[standard].Value.Quantity.Value : 0);

    /// <summary>What an uncalibrated number should be in a standard, in its own unit.</summary>
    public double ExactTarget(int standard, long entered, long temperature)
    {
        double value = ExactValue(standard, entered, temperature);
        return Arithmetic.CalibratesSignal ? Law.Instrument.Sensor.NominalSignal(value, Celsius(temperature)) - Law.Instrument.Sensor.ZeroSignal!.Value : value;
    }

    /// <summary>What the sensor of a line gives in a standard, in steps of <see cref="ArithmeticDesign.Uncalibrated"/>, unrounded.</summary>
    public double ExactTaken(CalibrationLine line, int standard, long entered, long temperature)
    {
        double target = ExactTarget(standard, entered, temperature);
        return (Arithmetic.CalibratesSignal ? line.Offset + (line.Gain * target) : (target - line.Offset) / line.Gain) / Arithmetic.Uncalibrated.Step;
    }

    private double Celsius(long temperature) => Temperatures.IsEmpty ? SensorForm.Temperatures(Law).Low : temperature * ArithmeticDesign.TemperatureStep;

    /// <summary>The whole calibration in the words of the processor.</summary>
    public CalibrationResult Judge(CalibrationInputs inputs)
    {
        Int128[] numbers = new Int128[Program.Nodes.Count];
        if (!Run(inputs, numbers, inWords: true) || Distances.Any(d => Int128.Abs(numbers[d.Index]) < Apart)
            || (!DividesByReadings && Spread is { } spread && Int128.Abs(numbers[spread.Index]) < LeastSpread))
        {
            return new CalibrationResult(CalibrationRefusal.TooNear, 0, 0, default);
        }

        bool isSlopeGood = Ratio is null
            || (numbers[Ratio.Index] >= RatioLow && numbers[Ratio.Index] <= RatioHigh && Scatter.All(s => Int128.Abs(numbers[s.Off.Index]) <= s.Most) && (!DividesByReadings || numbers[Spread!.Index] >= LeastSpread));
        Int128 zero = numbers[(isSlopeGood ? Zero : RoughZero).Index];
        bool isZeroGood = zero >= ZeroLow && zero <= ZeroHigh;
        return new CalibrationResult(
            (isSlopeGood ? CalibrationRefusal.None : CalibrationRefusal.Slope) | (isZeroGood ? CalibrationRefusal.None : CalibrationRefusal.Zero),
            (long)numbers[ShownSlope.Index],
            (long)numbers[ShownZero.Index],
            new CalibrationKept((long)numbers[KeptZero.Index], KeptGain is null ? 0 : (long)numbers[KeptGain.Index]));
    }
}
