using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the checks of the calibration's whole numbers share. They wait until the arithmetic itself is sound: it is the arithmetic's numbers that a calibration takes and makes.</summary>
internal abstract class CalibrationCheck : FirmwareCheck
{
    protected const string Subject = "user's calibration";

    public sealed override IEnumerable<Finding> Run(Instrument instrument) =>
        CalibrationDesign.Of(instrument) is { Trouble: null } design && design.Arithmetic.Program.Fits && ArithmeticProof.Of(design.Arithmetic).ZeroDivisors.IsEmpty ? Judge(design) : [];

    protected abstract IEnumerable<Finding> Judge(CalibrationDesign design);

    protected Finding Make(CalibrationDesign design, double margin, string statement, ImmutableArray<Figure> figures, string mend, SourceSpan? place) =>
        Finding.Judged(Description.Name, Subject, design.Law.Arithmetic.Name.Value, margin, statement, figures, mend, place ?? design.Law.Instrument.Calibration!.Span);

    protected static string Say(Int128 number) => Engineering.Number((double)number, 15);

    protected static string Value(CalibrationDesign design, double value, int digits = 2) =>
        Engineering.WithUnit(Engineering.Number(value, digits), design.Law.Instrument.Specification.Unit);

    /// <summary>A taking so that a person can do it again: what is entered, at which temperature, and what was taken.</summary>
    protected static string Say(CalibrationDesign design, CalibrationInputs inputs) => string.Join(
        ", ",
        Enumerable.Range(0, design.Points).Select(i =>
            $"{Value(design, inputs.Entered[i] * design.Entered[i].Step, 5)} entered{(design.Temperatures.IsEmpty ? "" : $" at {Engineering.Number(inputs.Temperature[i] * ArithmeticDesign.TemperatureStep, 4)} °C")} and {Say(inputs.Taken[i])} taken"));
}

/// <summary>Every number of the calibration fits its word.</summary>
internal sealed class CalibrationOverflowCheck : CalibrationCheck
{
    public override CheckDescription Description { get; } = new(
        "calibration overflow",
        "No reading, temperature or entered standard makes a number of the calibration that does not fit its word: not even a dead sensor that will be refused.",
        "Interval arithmetic over everything that can be taken and entered gives least and greatest of every number; each must lie inside its word. Where one does not, takings are tried for one that breaks it.",
        "Interval arithmetic: R. E. Moore, Interval Analysis, 1966; ranges of the fixed-width words: ISO/IEC 9899:1999, 7.18.");

    protected override IEnumerable<Finding> Judge(CalibrationDesign design)
    {
        CalibrationProof proof = CalibrationProof.Of(design);
        if (proof.ZeroDivisor is not null)
        {
            yield break;
        }

        if (proof.Overflows.IsEmpty)
        {
            Node fullest = design.Program.Nodes.Where(n => n.Operation != Operation.Constant).MaxBy(n => n.BitsNeeded)!;
            yield return Make(
                design, 1, $"Every number of a calibration fits its word, whatever is taken and entered; the largest, {fullest.Name}, takes {fullest.BitsNeeded} of {fullest.Word.Bits} bits.",
                [new Figure("bits taken", fullest.BitsNeeded, ""), new Figure("bits of the word", fullest.Word.Bits, ""), new Figure("numbers judged", design.Program.Nodes.Count, "")], "", null);
            yield break;
        }

        CalibrationOverflow overflow = proof.Overflows[0];
        Node node = overflow.Node;
        Int128 beyond = node.High > node.Word.Greatest ? node.High : node.Low;
        string statement = $"{node.Name} ({node.Remark}) can reach {Say(beyond)}, which takes {node.BitsNeeded} bits; a word of {node.Word.Bits} bits holds {Say(beyond > 0 ? node.Word.Greatest : node.Word.Least)}.";
        if (overflow.First is { } first)
        {
            statement += $" With {Say(design, first)}, {Say(overflow.Exact)} becomes {Say(overflow.InWord)}.";
        }

        Calibration calibration = design.Law.Instrument.Calibration!;
        string wider = FormattableString.Invariant($"{(node.BitsNeeded <= 16 ? 16 : node.BitsNeeded <= 32 ? 32 : 64)} bits");
        yield return Make(
            design,
            -(double)(node.BitsNeeded - node.Word.Bits) / node.Word.Bits,
            statement,
            [new Figure("bits needed", node.BitsNeeded, ""), new Figure("bits of the word", node.Word.Bits, ""), new Figure("greatest number", (double)beyond, "")],
            node.BitsNeeded <= 64 ? $"A product of {wider}, or fewer binary places of the ratio." : "Fewer binary places of the ratio.",
            calibration.ProductBits?.Span ?? calibration.RatioPlaces?.Span);
    }
}

/// <summary>What a calibration keeps is what it found.</summary>
internal sealed class CalibrationRoundingCheck : CalibrationCheck
{
    // What is shown of a slope, and so what a limit of it may be off by.
    private const double SlopeShown = CalibrationDesign.SlopeStep;

    public override CheckDescription Description { get; } = new(
        "calibration rounding",
        "The whole numbers of a calibration move no later reading by more than half a step of the display, or five times the stated rounding, and no limit of the slope by more than is shown of it.",
        "Bound: every rounding of the calibration carried through to the kept zero and gain over all accepted calibrations, and from there to the readings of the measuring range. Beside it the most that takings of sensors about the limits show against the exact line. "
        + "Half a step, for it is the same at every reading until the next calibration and standards are far less certain.",
        "Forward error analysis: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd edition, chapter 1; least squares: JCGM 100:2008, H.3; the half step: common practice, no source.");

    protected override IEnumerable<Finding> Judge(CalibrationDesign design)
    {
        CalibrationProof proof = CalibrationProof.Of(design);
        if (!proof.Overflows.IsEmpty || proof.ZeroDivisor is not null)
        {
            yield break;
        }

        string unit = design.Law.Instrument.Specification.Unit;
        double slopeOff = design.Ratio is { } ratio ? (ratio.Error + (ratio.Step / 2)) * (design.Arithmetic.CalibratesSignal ? design.Law.Instrument.Sensor.NominalSlope : 1) : 0;
        double margin = Math.Min(1 - (design.Bound / design.Allowed), 1 - (slopeOff / SlopeShown));
        bool isBad = design.Bound > design.Allowed;
        string statement = isBad
            ? $"The whole numbers of a calibration can move a reading by {Value(design, design.Bound)}; {Value(design, design.Allowed)} are allowed."
            : design.Bound == 0 ? "What a calibration keeps is what was taken, without any rounding."
            : $"The whole numbers of a calibration move a reading by at most {Value(design, design.Bound)}, of {Value(design, design.Allowed)} allowed; over {Say(proof.TakingsAccepted)} accepted takings by {Value(design, proof.Worst)}.";
        if (isBad && proof.WorstTaking is { } worst)
        {
            statement += $" With {Say(design, worst)}, it reads {Value(design, proof.Worst)} off at {Value(design, proof.WorstAt, 4)}.";
        }

        if (design.Ratio is not null)
        {
            statement += slopeOff <= SlopeShown
                ? $" Limits of the slope hold to {Engineering.Percent(slopeOff, 2)}."
                : $" Limits of the slope may be off by {Engineering.Percent(slopeOff, 2)}, of {Engineering.Percent(SlopeShown, 2)} that are shown.";
        }

        Calibration calibration = design.Law.Instrument.Calibration!;
        bool isNear = calibration.Apart is not null && calibration.GainStep is null && calibration.RatioPlaces is null;
        (string mend, SourceSpan? place) = calibration switch
        {
            { GainStep: { } step } => ("A finer step of the kept gain.", (SourceSpan?)step.Span),
            { RatioPlaces: { } places } => ("More binary places of the ratio.", places.Span),
            { ProductBits: { } bits } => ("Wider products.", bits.Span),
            _ when design.IsShortOfBits => ("Products of 64 bits for the least squares: `arithmetic: { product: 64 bit }` in calibration.", null),
            _ when isNear => ("Standards that lie farther apart: a small distance enlarges what is rounded.", calibration.Apart!.Span),
            _ => ("Standards that lie farther apart, narrower ranges of what may be entered, or wider words.", null),
        };
        yield return Make(
            design,
            margin,
            statement,
            [
                new Figure("greatest rounding", design.Bound, unit), new Figure("allowed", design.Allowed, unit), new Figure("greatest over the takings", proof.Worst, unit),
                new Figure("takings accepted", proof.TakingsAccepted, ""), new Figure("limit of the slope off by", slopeOff, ""),
                new Figure("step of the kept zero", design.KeptZero.Step, design.KeptZero.Unit), .. design.KeptGain is { } gain ? [new Figure("step of the kept gain", gain.Step, "")] : ImmutableArray<Figure>.Empty,
            ],
            mend,
            margin < 0 ? place : null);
    }
}

/// <summary>What the user enters is no calibration yet.</summary>
internal sealed class EditingStandardCheck : CalibrationCheck
{
    public override CheckDescription Description { get; } = new(
        "editing a standard leaves the reading",
        "A value that the user enters for a standard moves no reading until a calibration with it has succeeded: whoever looks at a standard's value or abandons a calibration leaves the instrument as it was.",
        "The sequence itself is played: a calibration is accepted, then every standard is entered one step of its key and as far as its range goes, and abandoned. The working zero and gain must be the same.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(CalibrationDesign design)
    {
        Instrument instrument = design.Law.Instrument;
        if (!CalibrationProof.Of(design).Overflows.IsEmpty || CalibrationProof.Of(design).ZeroDivisor is not null || design.Standards.All(s => s.Low == s.High))
        {
            yield break;
        }

        string unit = instrument.Specification.Unit;
        double one = 0;
        double most = 0;
        int moving = -1;
        int played = 0;
        for (int standard = 0; standard < design.Points; standard++)
        {
            (long low, long high, long stated) = design.Standards[standard];
            if (low == high)
            {
                continue;
            }

            long step = Math.Max(1, (long)Math.Round((PanelValues.EntryOf(instrument, PanelSource.FirstStandard + standard)?.Step ?? 0) / design.Entered[standard].Step));
            foreach (long value in new[] { Math.Clamp(stated + step, low, high), low, high })
            {
                played++;
                double moved = Moved(design, standard, value);
                if (moved > most)
                {
                    (most, moving) = (moved, moving < 0 ? standard : moving);
                }

                one = value == Math.Clamp(stated + step, low, high) && standard == Math.Max(0, moving) ? moved : one;
            }
        }

        ImmutableArray<Figure> figures = [new Figure("reading moved by one step", one, unit), new Figure("reading moved at most", most, unit), new Figure("entries played", played, "")];
        if (most == 0)
        {
            yield return Make(design, 1, $"None of {Say(played)} entries played moves a reading; only an accepted calibration does.", figures, "", null);
            yield break;
        }

        string ordinal = PanelWords.WordOf(PanelSource.FirstStandard + moving);
        yield return Make(
            design,
            -1,
            $"One step of the {ordinal} moves the reading by {Value(design, one)} at once, the whole of its range by {Value(design, most)}, and abandoning the calibration leaves it so.{Way(instrument, moving)}",
            figures,
            "Keep entered values apart until a calibration has succeeded.",
            instrument.Calibration!.EntriesCountAtOnce?.Span);
    }

    /// <summary>How far a reading in the first standard has moved after a calibration, an entry and leaving it, in the measurand's unit.</summary>
    private static double Moved(CalibrationDesign design, int standard, long value)
    {
        CalibrationSequence sequence = new(design);
        long celsius = design.HeldReading(0, (long)Math.Round(UnitState.ReferenceCelsius / ArithmeticDesign.TemperatureStep)).Temperature;
        long[] taken = [.. Enumerable.Range(0, design.Points).Select(i => (long)Math.Round(design.ExactTaken(CalibrationLine.Neutral, i, sequence.Entered(i), celsius)))];
        sequence.Begin();
        for (int i = 0; i < design.Points; i++)
        {
            sequence.Offer(taken[i], celsius, 0);
            for (long time = 0; time < design.SteadyMilliseconds; time += ushort.MaxValue)
            {
                sequence.Offer(taken[i], celsius, ushort.MaxValue);
            }

            sequence.Take(i);
        }

        sequence.Judge();
        CalibrationKept before = sequence.Working;
        sequence.Begin();
        sequence.Enter(standard, value);
        sequence.Abandon();
        CalibrationKept after = sequence.Working;
        double gain = design.KeptGain?.Step ?? 0;
        double zero = design.KeptZero.Step;
        double most = 0;
        foreach (long u in taken)
        {
            double moved = design.Arithmetic.CalibratesSignal
                ? ((u * design.Arithmetic.Uncalibrated.Step) - (after.Zero * zero)) * (1 + (after.Gain * gain)) - (((u * design.Arithmetic.Uncalibrated.Step) - (before.Zero * zero)) * (1 + (before.Gain * gain)))
                : ((after.Zero - before.Zero) * zero) + (u * design.Arithmetic.Uncalibrated.Step * (after.Gain - before.Gain) * gain);
            most = Math.Max(most, Math.Abs(moved * design.MeasurandPerUncalibrated));
        }

        return most;
    }

    /// <summary>The keys that show it.</summary>
    private static string Way(Instrument instrument, int standard)
    {
        if (PanelReview.Of(instrument) is not { } review)
        {
            return "";
        }

        PanelSpace space = review.Space;
        for (int i = 0; i < space.States.Count; i++)
        {
            PanelState state = space.States[i];
            if (space.Machine.ScreenOf(state).Enters?.Value != PanelSource.FirstStandard + standard)
            {
                continue;
            }

            for (int key = 0; key < review.Panel.Keys; key++)
            {
                if (space.Machine.ActionOf(state.Screen, key) is { Kind: PanelActionKind.Up })
                {
                    return $" Shown after a calibration by: {space.Tell([.. space.WayTo(i), new PanelEvent(PanelEventKind.Key, key)])}.";
                }
            }
        }

        return "";
    }
}
