using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>Every number of the trim fits its word, and what it divides by is never zero.</summary>
internal sealed class OutputTrimOverflowCheck : OutputTrimCheck
{
    public override CheckDescription Description { get; } = new(
        "output trim overflow",
        "No accepted entry, nothing that may be kept of one and no output code makes a number of the trim that does not fit its word, and what is divided by is never zero.",
        "Interval arithmetic over everything that may be entered, kept and asked for at once, as for the arithmetic; the gain divides by the distance of the two codes that would be taken for what was shown.",
        "Interval arithmetic: R. E. Moore, Interval Analysis, 1966; ranges of the fixed-width words: ISO/IEC 9899:1999, 7.18.");

    protected override Finding Judge(OutputTrimProof proof)
    {
        OutputTrimDesign design = proof.Design;
        Node divisor = design.Program.Nodes[design.FoundGain.Arguments[1]];
        Figure least = new("least distance of the codes", (double)divisor.LeastSize / OutputTrimDesign.StepsPerCode, "");
        if (!proof.ZeroDivisors.IsEmpty)
        {
            return Make(proof, -1, $"What is entered at both {proof.Design.Signal.Noun}s may be taken for the same code, and nothing is left to divide by.", [least], $"Two {proof.Design.Signal.Noun}s further apart, or less that is accepted.");
        }

        if (proof.Overflows.IsEmpty)
        {
            Node fullest = design.Program.Nodes.Where(n => n.Operation != Operation.Constant).MaxBy(n => n.BitsNeeded)!;
            return Make(
                proof, 1, $"Every number fits its word, whatever is entered; the largest, {fullest.Name}, takes {fullest.BitsNeeded} of {fullest.Word.Bits} bits. The codes that are divided by are at least {Say((Int128)least.Value)} apart.",
                [new Figure("bits taken", fullest.BitsNeeded, ""), new Figure("bits of the word", fullest.Word.Bits, ""), new Figure("numbers judged", design.Program.Nodes.Count, ""), least], "");
        }

        (Node node, OutputTrimInputs? first) = proof.Overflows[0];
        Int128 beyond = node.High > node.Word.Greatest ? node.High : node.Low;
        string statement = $"{node.Name} ({node.Remark}) reaches {Say(beyond)}, which takes {node.BitsNeeded} bits; a word of {node.Word.Bits} bits holds {Say(beyond > 0 ? node.Word.Greatest : node.Word.Least)}.";
        if (first is { } at)
        {
            double step = design.Trim.Step;
            statement += $" Shown by: {Engineering.Format(at.Low * step, proof.Design.Signal.Unit, 5)} and {Engineering.Format(at.High * step, proof.Design.Signal.Unit, 5)} entered.";
        }

        return Make(
            proof, -(double)(node.BitsNeeded - node.Word.Bits) / node.Word.Bits, statement,
            [new Figure("bits needed", node.BitsNeeded, ""), new Figure("bits of the word", node.Word.Bits, ""), new Figure("greatest number", (double)beyond, ""), least],
            $"Wider words, two {proof.Design.Signal.Noun}s further apart, or less that is accepted.",
            design.Law.Arithmetic.Choices.ProductBits?.Span);
    }
}
