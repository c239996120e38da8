using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>Everything that the pages show of one instrument file, at one moment. Every page on the file sees the same.</summary>
public sealed record SessionState
{
    /// <summary>The text as it is being edited.</summary>
    public required string Text { get; init; }

    /// <summary>The text as it stands in the file, as far as is known.</summary>
    public required string SavedText { get; init; }

    /// <summary>What another program wrote into the file while the text here has edits of its own; null when there is no such quarrel.</summary>
    public string? Theirs { get; init; }

    /// <summary>Counts the texts.</summary>
    public long Revision { get; init; }

    /// <summary>Who made the text: a page's own edit need not be sent back to that page.</summary>
    public string Author { get; init; } = "";

    /// <summary>Mistakes in the text.</summary>
    public ImmutableArray<Diagnostic> Diagnostics { get; init; } = [];

    /// <summary>What follows from the last text without a mistake; null before there was one.</summary>
    public Followed? Followed { get; init; }

    /// <summary>Its findings; those of the text before while new ones are being found.</summary>
    public Review? Review { get; init; }

    /// <summary>Whether <see cref="Review"/> is of <see cref="Followed"/>.</summary>
    public bool IsReviewed { get; init; }

    /// <summary>What the last edit moved; null when nothing was edited.</summary>
    public Comparison? Moved { get; init; }

    /// <summary>The spread of a virtual batch at the present conditions; empty while it is being found.</summary>
    public ImmutableArray<ChainSpread> Spread { get; init; } = [];

    /// <summary>The present operating point, in the specification's unit.</summary>
    public double Measurand { get; init; }

    public Conditions At { get; init; } = new(25, 25, 0, 0);

    /// <summary>What the unit in hand reads there.</summary>
    public LiveReading? Reading { get; init; }

    /// <summary>The unit of a virtual batch that is in hand; null for the nominal one.</summary>
    public UnitChoice? Unit { get; init; }

    /// <summary>The revision that is laid beside; null for none.</summary>
    public OtherRevision? Other { get; init; }

    /// <summary>Why the last attempt to save failed; null when it did not.</summary>
    public string? SaveTrouble { get; init; }

    /// <summary>What went wrong in the program itself while it found what follows; null when nothing did.</summary>
    public string? Fault { get; init; }

    public bool IsSaved => Text == SavedText;

    /// <summary>Whether what follows is of an older text, because the present one has a mistake.</summary>
    public bool IsStale => !Diagnostics.IsEmpty && Followed is not null;
}

/// <summary>A unit of a virtual batch.</summary>
public sealed record UnitChoice(BatchOptions Options, long Unit);

/// <summary>What follows at once from a text without a mistake.</summary>
/// <param name="Nominal">The nominal unit.</param>
/// <param name="Chain">The unit in hand.</param>
/// <param name="Scales">Of the nominal unit, at the present process temperature.</param>
public sealed record Followed(Instrument Instrument, LiveChain Nominal, LiveChain Chain, ImmutableArray<ChainScale> Scales);

/// <summary>Another revision of the file, read at the same operating point.</summary>
/// <param name="Name">Where it is from.</param>
/// <param name="Word">How an address names it; null for one that no address can.</param>
public sealed record OtherRevision(string Name, string? Word, Instrument Instrument, LiveChain Chain, LiveReading Reading);
