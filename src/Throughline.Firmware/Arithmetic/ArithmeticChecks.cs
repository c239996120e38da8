using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the checks of the arithmetic share.</summary>
internal abstract class ArithmeticCheck : FirmwareCheck
{
    public sealed override IEnumerable<Finding> Run(Instrument instrument) =>
        ArithmeticDesign.Of(instrument) is { Trouble: null } design ? [Judge(ArithmeticProof.Of(design))] : [];

    protected abstract Finding Judge(ArithmeticProof proof);

    protected Finding Make(ArithmeticProof proof, double margin, string statement, ImmutableArray<Figure> figures, string mend, SourceSpan? place)
    {
        ArithmeticStage stage = proof.Design.Law.Arithmetic;
        return Finding.Judged(Description.Name, stage.Name.Value, stage.Name.Value, margin, statement, figures, mend, place ?? stage.Span);
    }

    protected static string Say(Int128 number) => Engineering.Number((double)number, 15);

    /// <summary>A value of the measurand, to a hundredth of what rounding may add.</summary>
    protected static string Value(ArithmeticProof proof, double value, int digits = 2) =>
        Engineering.WithUnit(Engineering.Number(value, digits), proof.Design.Law.Instrument.Specification.Unit);
}

/// <summary>Every number fits its word.</summary>
internal sealed class ArithmeticOverflowCheck : ArithmeticCheck
{
    public override CheckDescription Description { get; } = new(
        "arithmetic overflow",
        "No converter code, no temperature and no accepted calibration makes a number of the integer arithmetic that does not fit its word.",
        "Interval arithmetic over all inputs at once gives least and greatest of every intermediate number; each must lie inside its word. Where one does not, the first code that breaks it, "
        + "the nominal calibration before the limits of the accepted ones; `throughline firmware FILE --code N` runs it again.",
        "Interval arithmetic: R. E. Moore, Interval Analysis, 1966; ranges of the fixed-width words: ISO/IEC 9899:1999, 7.18.");

    protected override Finding Judge(ArithmeticProof proof)
    {
        ArithmeticDesign design = proof.Design;
        if (proof.Overflows.IsEmpty)
        {
            Node fullest = design.Program.Nodes.Where(n => n.Operation != Operation.Constant).MaxBy(n => n.BitsNeeded)!;
            return Make(
                proof, 1, $"Every number fits its word, whatever code, temperature and accepted calibration; the largest, {fullest.Name}, takes {fullest.BitsNeeded} of {fullest.Word.Bits} bits.",
                [new Figure("bits taken", fullest.BitsNeeded, ""), new Figure("bits of the word", fullest.Word.Bits, ""), new Figure("numbers judged", design.Program.Nodes.Count, "")], "", null);
        }

        (Node node, Counterexample? first) = (proof.Overflows[0].Node, proof.Overflows[0].First);
        ArithmeticChoices choices = design.Law.Arithmetic.Choices;
        Int128 beyond = node.High > node.Word.Greatest ? node.High : node.Low;
        string statement = $"{node.Name} ({node.Remark}) reaches {Say(beyond)}, which takes {node.BitsNeeded} bits; a word of {node.Word.Bits} bits holds {Say(beyond > 0 ? node.Word.Greatest : node.Word.Least)}.";
        List<Figure> figures = [];
        if (first is not null)
        {
            figures.Add(new Figure("first failing code", first.Inputs.Code, ""));
            ArithmeticInputs at = first.Inputs;
            string others = at == design.Nominal(at.Code) ? ""
                : " with" + string.Join(
                    " and",
                    new[] { (design.Temperature, at.Temperature), (design.Zero, at.Zero), (design.Gain, at.Gain) }.Where(p => p.Item1 is not null).Select(p => $" {p.Item1!.Name} {Say(p.Item2)}"));
            statement += $" It fails from code {Say(at.Code)} on{others}: {Say(first.Exact)} becomes {Say(first.InWord)}.";
        }

        figures.AddRange([new Figure("bits needed", node.BitsNeeded, ""), new Figure("bits of the word", node.Word.Bits, ""), new Figure("greatest number", (double)beyond, "")]);
        string wider = node.BitsNeeded <= 64 ? FormattableString.Invariant($"{(node.BitsNeeded <= 16 ? 16 : node.BitsNeeded <= 32 ? 32 : 64)} bits") : "";
        string mend;
        SourceSpan? place = null;
        if (node.Operation == Operation.Sum)
        {
            long most = (long)(node.Word.Greatest / Int128.Max(1, design.Code.High));
            Int128 whole = node.Word.Wrap(design.Code.High * node.Constant);
            statement += $" {Say(node.Constant)} readings of {Say(design.Code.High)} give a mean of {Say(whole / node.Constant)}; at most {Say(most)} fit.";
            figures.Add(new Figure("most readings that fit", most, ""));
            figures.Add(new Figure("mean of the greatest code", (double)(whole / node.Constant), ""));
            mend = $"A sum of {wider}, or at most {Say(most)} readings.";
            place = choices.SumBits?.Span;
        }
        else if (choices.Fraction is { DividesFirst: false } fraction && node.Name == "scaled")
        {
            mend = $"A product of {wider}, or a smaller fraction than {Say(fraction.Multiply)} / {Say(fraction.Divide)}; dividing first would lose the fraction.";
            place = choices.ProductBits?.Span ?? fraction.Span;
        }
        else
        {
            mend = wider.Length > 0 ? $"Words of {wider}, or a coarser resolution." : "A coarser resolution or smaller constants.";
            place = choices.ProductBits?.Span ?? choices.Resolution?.Span ?? choices.Fraction?.Span;
        }

        return Make(proof, -(double)(node.BitsNeeded - node.Word.Bits) / node.Word.Bits, statement, [.. figures], mend, place);
    }
}

/// <summary>Rounding stays small.</summary>
internal sealed class ArithmeticRoundingCheck : ArithmeticCheck
{
    public override CheckDescription Description { get; } = new(
        "arithmetic rounding",
        "The integer arithmetic adds less than a tenth of the display's step, or the stated limit, to the error of a reading, and less than a tenth of a code to the output.",
        "Bound: every rounding, every constant's rounding and the straight lines of every table carried through the program over all inputs at once (tables looked at in eight places of each step). Beside it the greatest error of the whole numbers against "
        + "the exact computation over the converter's codes, every one of them up to 8192, of longer converters every so many.",
        "Forward error analysis: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd edition, chapter 1; the tenth: common practice, no source.");

    protected override Finding Judge(ArithmeticProof proof)
    {
        ArithmeticDesign design = proof.Design;
        double bound = design.Measurand.Error;
        string unit = design.Law.Instrument.Specification.Unit;
        double margin = 1 - (bound / design.Allowed);
        bool outputIsWorse = design.OutputCode is not null && 1 - (design.OutputError / ArithmeticDesign.OutputAllowed) < margin;
        if (outputIsWorse)
        {
            margin = 1 - (design.OutputError / ArithmeticDesign.OutputAllowed);
        }

        string codes = proof.Stride == 1 ? $"all {Say(proof.CodesRun)} codes in range" : $"{Say(proof.CodesRun)} codes, every {Say(proof.Stride)}th,";
        string statement = bound <= design.Allowed
            ? $"Rounding adds at most {Value(proof, bound)} for any code and accepted calibration, of {Value(proof, design.Allowed)} allowed ({design.AllowedIs}); over {codes} {Value(proof, Math.Abs(proof.Worst.Error))}."
            : $"Rounding can add {Value(proof, bound)}; {Value(proof, design.Allowed)} is allowed ({design.AllowedIs}).";
        if (outputIsWorse)
        {
            statement += $" To the output it adds {Engineering.Number(design.OutputError, 2)} of a code, of 0.1 allowed.";
        }

        if (bound > design.Allowed)
        {
            statement += proof.FirstBeyond is { } first
                ? $" Code {Say(first.Code)} is the first beyond: {Value(proof, first.Exact + first.Error, 5)} for {Value(proof, first.Exact, 5)}. At worst, code {Say(proof.Worst.Code)} gives {Value(proof, proof.Worst.Exact + proof.Worst.Error, 5)} for {Value(proof, proof.Worst.Exact, 5)}."
                : $" Over {codes} with the nominal calibration it adds {Value(proof, Math.Abs(proof.Worst.Error))}.";
        }

        List<Figure> figures = [];
        if (proof.FirstBeyond is { } beyond && bound > design.Allowed)
        {
            figures.Add(new Figure("first failing code", beyond.Code, ""));
        }

        figures.AddRange(
        [
            new Figure("greatest rounding", bound, unit), new Figure("allowed", design.Allowed, unit), new Figure("greatest over the codes", Math.Abs(proof.Worst.Error), unit),
            new Figure("at code", proof.Worst.Code, ""), new Figure("codes run", proof.CodesRun, ""), new Figure("resolution", design.Measurand.Step, unit),
        ]);
        if (design.OutputCode is not null)
        {
            figures.Add(new Figure("added to the output", design.OutputError, ""));
        }

        ArithmeticChoices choices = design.Law.Arithmetic.Choices;
        (string mend, SourceSpan? place) = choices switch
        {
            { Fraction: { DividesFirst: true } f } => ("Multiply first and divide the product.", (SourceSpan?)f.Span),
            { Truncates: { Value: true } t } => ("Divide to the nearest instead of cutting off.", t.Span),
            { Resolution: { } r } => ("A finer resolution.", r.Span),
            { ProductBits: { } p } => ("Wider products.", p.Span),
            { Fraction: { } f } => ("A finer step of the signal.", f.Span),
            _ => ("Wider words, or a coarser step of the display.", null),
        };
        return Make(proof, margin, statement, [.. figures], mend, margin < 0 ? place : null);
    }
}

/// <summary>Nothing is divided by zero.</summary>
internal sealed class DivisionByZeroCheck : ArithmeticCheck
{
    public override CheckDescription Description { get; } = new(
        "division by zero",
        "No divisor of the arithmetic can be zero: neither that of a reading nor the distance of the points that a calibration divides by.",
        "Range of every divisor by interval arithmetic. Of a calibration in two or more points: the least distance of its standards over their temperatures and over all that may be entered, or the one that the file has the code look at; and that "
        + "an accepted slope is stated by which a dead sensor is refused.",
        "Common practice, no source.");

    protected override Finding Judge(ArithmeticProof proof)
    {
        ArithmeticDesign design = proof.Design;
        ChainLaw law = design.Law;
        string unit = law.Instrument.Specification.Unit;
        if (!proof.ZeroDivisors.IsEmpty)
        {
            Node zero = proof.ZeroDivisors[0];
            return Make(
                proof, -1, $"{zero.Name} ({zero.Remark}) runs from {Say(zero.Low)} to {Say(zero.High)} and divides.",
                [new Figure("least divisor", (double)zero.Low, ""), new Figure("greatest divisor", (double)zero.High, "")], "Hold it away from zero.", null);
        }

        CalibrationDesign? calibration = law.CalibrationPoints >= 2 ? CalibrationDesign.Of(law.Instrument) : null;
        double distance = calibration is { Trouble: null } ? calibration.Apart > 0 ? calibration.Apart * design.Measurand.Step : calibration.Nearest.Distance : double.PositiveInfinity;
        ImmutableArray<Figure> figures =
        [
            new Figure("divisors judged", proof.Divisors.Length + (calibration?.Program.Nodes.Count(n => n.Operation == Operation.Divide) ?? 0), ""),
            .. proof.Divisors.IsEmpty ? ImmutableArray<Figure>.Empty : [new Figure("least divisor", (double)proof.Divisors.Min(d => Int128.Min(Int128.Abs(d.Low), Int128.Abs(d.High))), "")],
            .. double.IsFinite(distance) ? [new Figure("least distance of the standards", distance, unit)] : ImmutableArray<Figure>.Empty,
        ];
        if (calibration is { Trouble: null } && CalibrationProof.Of(calibration).ZeroDivisor is { First: var equal })
        {
            string[] entered = [.. Enumerable.Range(0, 2).Select(i => Value(proof, calibration.ExactValue(i, equal.Entered[i], equal.Temperature[i]), 5))];
            string[] given = [.. Enumerable.Range(0, 2).Select(i => Value(proof, equal.Entered[i] * design.Measurand.Step, 5))];
            return Make(
                proof, -1,
                $"The calibration divides by how far its standards lie apart, and nothing keeps them apart: with {given[0]} entered for the first and {given[1]} for the second"
                + (given[0] == given[1] || entered[0] == given[0] ? "" : $", which are {entered[0]} at their temperature,") + " nothing is left of it.",
                figures, "State how far they lie apart at least, such as apart: 1 pH, or narrow what may be entered so that they cannot meet.",
                law.Instrument.Panel?.Entries.FirstOrDefault()?.Range.Span ?? law.Instrument.Calibration!.Span);
        }

        if (law.CalibrationPoints >= 2 && !law.LimitsSlope)
        {
            return Make(
                proof, -1,
                "The gain divides by the slope, and no accepted slope keeps that from zero: taken in the same standard twice, nothing is left of it.",
                figures, "State the slopes that are accepted, such as accept: { slope: 85 .. 105 % }; they are judged by products before anything is divided.",
                law.Instrument.Calibration!.Span);
        }

        string divisors = proof.Divisors.IsEmpty ? "A reading divides by nothing" : $"No divisor of a reading comes nearer to zero than {Say((Int128)figures[1].Value)}";
        string standards = double.IsFinite(distance) ? $"; the standards of the calibration are at least {Value(proof, distance, 3)} apart." : ".";
        return Make(proof, 1, divisors + standards, figures, "", null);
    }
}
