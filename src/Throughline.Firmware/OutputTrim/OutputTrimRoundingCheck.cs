using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The trim's rounding stays small.</summary>
internal sealed class OutputTrimRoundingCheck : OutputTrimCheck
{
    public override CheckDescription Description { get; } = new(
        "output trim rounding",
        "The whole numbers of the trim, its kept numbers among them, add less than a quarter of a code to the half code that the converter's steps have anyway.",
        "Bound: every rounding carried from what is entered to what is kept and on to every code, over all accepted entries at once. Beside it the greatest distance from the line through the entries over 81 pairs of them and 65 codes. A trim of two points needs codes that lie on one straight line with what the output gives.",
        "Forward error analysis: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd edition, chapter 1; the quarter: common practice, no source.");

    protected override Finding Judge(OutputTrimProof proof)
    {
        OutputTrimDesign design = proof.Design;
        const double Allowed = OutputTrimDesign.Allowed;
        string bound = Engineering.Number(design.Bound, 2);
        return Make(
            proof,
            1 - (design.Bound / Allowed),
            design.Bound <= Allowed
                ? $"Rounding adds at most {bound} of a code, of {Engineering.Number(Allowed)} allowed; over {Engineering.Number(proof.Runs)} entries and codes {Engineering.Number(proof.Worst, 2)}."
                : $"Rounding can add {bound} of a code; {Engineering.Number(Allowed)} is allowed.",
            [
                new Figure("greatest rounding", design.Bound, ""), new Figure("allowed", Allowed, ""), new Figure("greatest over the runs", proof.Worst, ""), new Figure("runs", proof.Runs, ""),
                new Figure("step of the kept gain", design.Gain.Step, ""), new Figure("step of the kept offset", design.Offset.Step, ""),
            ],
            $"Two {proof.Design.Signal.Noun}s further apart, less that is accepted, or wider words.");
    }

    protected override IEnumerable<Finding> WithoutLine(Instrument instrument)
    {
        if (instrument.Loop?.Trim is not { } trim || ChainLaw.Of(instrument) is not { OutputConverter: not null, LoopScale: not null })
        {
            return [];
        }

        return
        [
            Finding.Judged(
                Description.Name, SubjectOf(instrument), SubjectOf(instrument), -1,
                "The codes of the output lie on no straight line with what it gives, so a trim at two points has no line to turn: no code is written for it.",
                [], "Two points of the output scaling or of the stage's intent, or no trim.", trim.Span),
        ];
    }
}
