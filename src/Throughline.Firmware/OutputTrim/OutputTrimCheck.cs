using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What the checks of the output's trim in whole numbers share.</summary>
internal abstract class OutputTrimCheck : FirmwareCheck
{
    /// <summary>Where the findings stand.</summary>
    protected static string SubjectOf(Instrument instrument) => instrument.Loop!.Signal.Place;

    public sealed override IEnumerable<Finding> Run(Instrument instrument) => OutputTrimDesign.Of(instrument) is { } design ? [Judge(OutputTrimProof.Of(design))] : WithoutLine(instrument);

    /// <summary>What is to be said where codes and output lie on no straight line.</summary>
    protected virtual IEnumerable<Finding> WithoutLine(Instrument instrument) => [];

    protected abstract Finding Judge(OutputTrimProof proof);

    protected Finding Make(OutputTrimProof proof, double margin, string statement, ImmutableArray<Figure> figures, string mend, SourceSpan? place = null) =>
        Finding.Judged(Description.Name, SubjectOf(proof.Design.Law.Instrument), SubjectOf(proof.Design.Law.Instrument), margin, statement, figures, mend, place ?? proof.Design.Trim.Span);

    protected static string Say(Int128 number) => Engineering.Number((double)number, 15);
}
