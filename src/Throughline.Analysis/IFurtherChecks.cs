using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Checks of a field that builds on the chain and that the chain knows nothing of, such as the firmware. Handed to the reviewer by whoever knows both.</summary>
public interface IFurtherChecks
{
    /// <summary>Every check that it has, in the order of a review.</summary>
    ImmutableArray<CheckDescription> Descriptions { get; }

    /// <summary>Runs those that apply to an instrument.</summary>
    IEnumerable<Finding> Run(Instrument instrument);
}

/// <summary>What a check is.</summary>
/// <param name="Name">Stable, in the trade's words; also what a finding carries.</param>
/// <param name="MustHold">A sentence that says what must hold.</param>
/// <param name="Formula">How the figures follow, in a line or two.</param>
/// <param name="Source">The rule's source: a standard, a book, or <c>common practice, no source</c>.</param>
public sealed record CheckDescription(string Name, string MustHold, string Formula, string Source);
