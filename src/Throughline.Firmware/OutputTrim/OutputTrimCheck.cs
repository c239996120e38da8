using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the checks of the output's trim in whole numbers share.</summary>
internal abstract class OutputTrimCheck : FirmwareCheck
{
    private const double MarginalBelow = 0.1;
    private const string Subject = "loop";

    public sealed override IEnumerable<Finding> Run(Instrument instrument) => OutputTrimDesign.Of(instrument) is { } design ? [Judge(OutputTrimProof.Of(design))] : [];

    protected abstract Finding Judge(OutputTrimProof proof);

    protected Finding Make(OutputTrimProof proof, double margin, string statement, ImmutableArray<Figure> figures, string mend, SourceSpan? place = null)
    {
        double bounded = double.IsNaN(margin) ? -1 : Math.Clamp(margin, -1, 1);
        Outcome outcome = bounded < 0 ? Outcome.NotMet : bounded < MarginalBelow ? Outcome.Marginal : Outcome.Met;
        return new Finding(Description.Name, Subject, Subject, outcome, statement, bounded, figures, outcome == Outcome.Met ? null : mend, place ?? proof.Design.Trim.Span);
    }

    protected static string Say(Int128 number) => Engineering.Number((double)number, 15);
}
