using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// The trim of the output in whole numbers: from what the meter showed at two values to what is kept, and from the code that is asked for to the one that the converter is given. Immutable; safe on any thread.
/// </summary>
/// <remarks>
/// The line through two points. What is kept is the gain less one and the correction at the middle of the two codes c₁ and c₂: so the numbers stay small and the rounding of the gain acts over half the distance. With x₁ and x₂ the codes that
/// would be taken for the shown currents, g = ((c₂ − c₁) − (x₂ − x₁)) / (x₂ − x₁), o = (1 + g) ((c₁ + c₂) − (x₁ + x₂)) / 2, and a code c becomes c + g (c − (c₁ + c₂) / 2) + o. Zero for both is a unit that was never trimmed.
/// The arithmetic hands its code over in sixteenths, so that what it rounds and what the trim rounds do not add to a whole code.
/// </remarks>
public sealed class OutputTrimDesign
{
    /// <summary>The code that is asked for comes in so many steps of a code.</summary>
    public const int StepsPerCode = 16;

    /// <summary>What the whole numbers of the trim may add to the output, in codes: half of what the converter's own steps do.</summary>
    public const double Allowed = 0.25;

    private const double CodeStep = 1.0 / StepsPerCode;

    /// <summary>2^this is <see cref="StepsPerCode"/>.</summary>
    private const int WholePlaces = 4;

    private const int MostPlaces = 24;
    private const int LeastPlaces = 6;

    private static readonly ConditionalWeakTable<Instrument, OutputTrimDesign> Known = [];

    private OutputTrimDesign(ChainLaw law, LoopTrim trim, double codesPerUnit, double codeAtZero, int places)
    {
        (Law, Trim, Places) = (law, trim, places);
        LastCode = (1L << law.OutputConverter!.Bits) - 1;
        (LowCode, HighCode) = ((long)law.NearestOutputCode(law.OutputCodeOf(trim.Low.Value)), (long)law.NearestOutputCode(law.OutputCodeOf(trim.High.Value)));
        ArithmeticChoices choices = law.Arithmetic.Choices;
        Program = new IntegerProgram(law.Arithmetic.WordBits, null, choices.ProductBits?.Value, choices.Truncates?.Value ?? false);
        ProgramParts parts = new(Program);
        ShownLow = Shown("shown_low", trim.Low, $"what the meter shows at the lower {Signal.Noun}");
        ShownHigh = Shown("shown_high", trim.High, "what it shows at the higher one");
        Node low = parts.Straight("taken_low", ShownLow, codesPerUnit, codeAtZero, CodeStep, "", "the code that would be taken for the one");
        Node high = parts.Straight("taken_high", ShownHigh, codesPerUnit, codeAtZero, CodeStep, "", "the code that would be taken for the other");
        Node one = Program.Constant("one", Int128.One << places, 1, Math.ScaleB(1, -places), "", "steps of the gain in one");
        Node between = Program.Subtract("taken_span", high, low, "from the one to the other");
        Node lacking = Program.Subtract("span_lacking", Program.Constant("span", HighCode - LowCode, CodeStep, "", "between the codes that were given"), between, "what it lacks");
        FoundGain = Program.Divide("found_gain", Program.Multiply("span_scaled", lacking, one, "", "in steps of the gain"), between, "", "what the gain has above one");
        Node sum = Program.Add("taken_sum", low, high, "twice their middle");
        Node missing = Program.Subtract("sum_lacking", Program.Constant("sum", LowCode + HighCode, CodeStep, "", "twice the middle of the codes that were given"), sum, "what it lacks");
        Node scaled = Program.Multiply("sum_scaled", missing, one, "", "in steps of the gain");
        Node twice = Program.Add("offset_twice", scaled, Program.Multiply("sum_turned", FoundGain, missing, "", "and what the gain makes of it"), "twice the correction at the middle");
        FoundOffset = Program.Shift("found_offset", twice with { Step = twice.Step / 2, Error = twice.Error / 2 }, 1, "correction at the middle");

        Steps = Program.Input("steps", 0, LastCode * StepsPerCode, CodeStep, "", 0, "the code that is asked for");
        Offset = Program.Input("offset", FoundOffset.Low, FoundOffset.High, FoundOffset.Step, "", FoundOffset.Error, "correction at the middle, as kept");
        Gain = Program.Input("gain", FoundGain.Low, FoundGain.High, FoundGain.Step, "", FoundGain.Error, "what the gain has above one, as kept");
        Node about = Program.Subtract("about_middle", Steps, Program.Constant("middle", (LowCode + HighCode) / 2.0, CodeStep, "", "the middle of the codes that were given"), "from the middle");
        Node moved = Program.Add("moved", Program.Multiply("turned", about, Gain, "", "what the gain adds"), Offset, "and the correction at the middle");
        Node trimmed = Program.Add("trimmed", Steps, Program.Shift("correction", moved, places, "in steps of the code"), "as trimmed");
        Node whole = Program.Shift("whole", trimmed, WholePlaces, "in whole codes");
        Given = Program.Clamp("given", whole, 0, LastCode, "a code that the converter has");

        Node Shown(string name, Quantity asked, string remark) => Program.Input(
            name,
            (Int128)Math.Ceiling(((asked.Value - trim.Accept.Tolerance) / trim.Step) - 1e-9),
            (Int128)Math.Floor(((asked.Value + trim.Accept.Tolerance) / trim.Step) + 1e-9),
            trim.Step,
            Signal.Unit,
            0,
            remark);
    }

    public ChainLaw Law { get; }

    public LoopTrim Trim { get; }

    /// <summary>What is trimmed.</summary>
    public OutputSignal Signal => Law.Instrument.Loop!.Signal;

    /// <summary>Fit and use, one after the other.</summary>
    public IntegerProgram Program { get; }

    /// <summary>The kept gain has steps of 2^−this.</summary>
    public int Places { get; }

    /// <summary>Whole codes that are given while the meter is read.</summary>
    public long LowCode { get; }

    public long HighCode { get; }

    /// <summary>The greatest code of the converter.</summary>
    public long LastCode { get; }

    /// <summary>What is entered, in whole steps of <see cref="LoopTrim.Step"/>; its range is what is accepted.</summary>
    public Node ShownLow { get; }

    public Node ShownHigh { get; }

    public Node FoundOffset { get; }

    public Node FoundGain { get; }

    public Node Steps { get; }

    public Node Offset { get; }

    public Node Gain { get; }

    /// <summary>What the converter gets.</summary>
    public Node Given { get; }

    /// <summary>A bound of what the whole numbers add to the half code that any code has, in codes, over all accepted entries and all codes.</summary>
    public double Bound => Given.Error - 0.5;

    /// <summary>The design of an instrument; null without a trim, or where its codes lie on no straight line with the currents.</summary>
    public static OutputTrimDesign? Of(Instrument instrument)
    {
        if (instrument.Loop?.Trim is not { } trim)
        {
            return null;
        }

        if (Known.TryGetValue(instrument, out OutputTrimDesign? known))
        {
            return known;
        }

        if (ChainLaw.Of(instrument) is not { } law || PanelOutputLine.CodesOf(law) is not var (perUnit, atZero))
        {
            return null;
        }

        OutputTrimDesign? design = null;
        for (int places = MostPlaces; places >= LeastPlaces && design is not { Program.Fits: true }; places--)
        {
            design = new OutputTrimDesign(law, trim, perUnit, atZero, places);
        }

        Known.AddOrUpdate(instrument, design!);
        return design;
    }

    /// <summary>Whether what is entered is near enough to what was asked for.</summary>
    /// <param name="low">In steps of <see cref="LoopTrim.Step"/>.</param>
    /// <param name="high">The same at the higher current.</param>
    public bool IsAccepted(long low, long high) => low >= ShownLow.Low && low <= ShownLow.High && high >= ShownHigh.Low && high <= ShownHigh.High;

    /// <summary>What is kept of two accepted entries, in the words of the processor.</summary>
    public (long Offset, long Gain) Fit(long low, long high)
    {
        Span<Int128> numbers = stackalloc Int128[Program.Nodes.Count];
        Run(new OutputTrimInputs(low, high, 0, 0, 0), numbers, inWords: true);
        return ((long)numbers[FoundOffset.Index], (long)numbers[FoundGain.Index]);
    }

    /// <summary>The code that the converter is given, in the words of the processor.</summary>
    /// <param name="steps">Asked for; held to what the converter has.</param>
    public long CodeOf(long steps, long offset, long gain)
    {
        Span<Int128> numbers = stackalloc Int128[Program.Nodes.Count];
        Run(
            new OutputTrimInputs(
                (long)ShownLow.Low, (long)ShownHigh.Low, (long)Int128.Clamp(steps, Steps.Low, Steps.High), (long)Int128.Clamp(offset, Offset.Low, Offset.High), (long)Int128.Clamp(gain, Gain.Low, Gain.High)),
            numbers,
            inWords: true);
        return (long)numbers[Given.Index];
    }

    /// <summary>Runs all of it.</summary>
    /// <param name="numbers">One for each node of the program.</param>
    /// <returns>False where something is divided by zero.</returns>
    public bool Run(in OutputTrimInputs inputs, Span<Int128> numbers, bool inWords)
    {
        ReadOnlySpan<Int128> given = [inputs.Low, inputs.High, inputs.Steps, inputs.Offset, inputs.Gain];
        return inWords ? Program.RunInWords(given, numbers) : Program.RunExact(given, numbers);
    }

    /// <summary>What the line through two entries makes of a code, unrounded, in codes.</summary>
    public double Exact(double code, long low, long high)
    {
        (double from, double to) = (Law.OutputCodeOf(low * Trim.Step), Law.OutputCodeOf(high * Trim.Step));
        return LowCode + ((code - from) * (HighCode - LowCode) / (to - from));
    }
}
