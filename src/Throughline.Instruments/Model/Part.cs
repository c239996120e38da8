using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A part of a circuit. Each kind is one file: what may be written, what it is, and the elements it consists of.</summary>
public abstract record Part
{
    /// <summary>As in the file; a part inside a block has the block's name, a dot and its own.</summary>
    public required Located<string> Name { get; init; }

    public SourceSpan Span { get; init; }

    /// <summary>The trade's word for the kind, such as <c>resistor</c>.</summary>
    public abstract string Kind { get; }

    /// <summary>The grade of the parts library that it names; null when it has none or states its figures itself.</summary>
    public Located<string>? Grade { get; init; }

    /// <summary>What its grade costs; null when that is not said.</summary>
    public PriceList? GradePrice { get; init; }

    /// <summary>Its terminals in a fixed order: what each is called, and the node it is on.</summary>
    public abstract ImmutableArray<Terminal> Terminals { get; }

    /// <summary>Every number of it that may move.</summary>
    public abstract ImmutableArray<Parameter> Parameters { get; }

    /// <summary>Says the elements that it consists of. A trimmer's position comes from <paramref name="settings"/>.</summary>
    public abstract void Describe(INetworkSink sink, IPartSettings settings);
}

/// <summary>A terminal of a part.</summary>
public sealed record Terminal(string Name, Located<string> Node);

/// <summary>What a person or the bench sets on a part, as laws since the adjustment turns them.</summary>
public interface IPartSettings
{
    /// <summary>Position of a trimmer's wiper, from 0 at its first end to 1 at its second.</summary>
    Law Position(Part trimmer);
}

/// <summary>A part whose setting a person turns.</summary>
public interface ITrimmer
{
    /// <summary>Turns from end to end; null when not said.</summary>
    double? Turns { get; }

    /// <summary>Position when no adjustment step turns it, from 0 to 1.</summary>
    double InitialPosition { get; }

    /// <summary>Element resistance, Ω.</summary>
    Parameter Resistance { get; }

    /// <summary>The least change of its position, a share of its travel, that a hand can make; null when nothing is known about it.</summary>
    double? Resolution { get; }

    /// <summary>Share of its travel that is lost when the hand turns back.</summary>
    double Backlash { get; }

    /// <summary>
    /// Where a hand leaves the wiper beside the place it wants, a share of the travel about 0: half a <see cref="Resolution"/> and half of the
    /// <see cref="Backlash"/> to either side. Null when nothing is known about it.
    /// </summary>
    Parameter? Setting { get; }
}

/// <summary>A part with amplifier pins, whose headroom is checked.</summary>
public interface IAmplifier
{
    Located<string> Plus { get; }

    Located<string> Minus { get; }

    Located<string> Output { get; }

    /// <summary>Bias current of an input, A: typical and limits.</summary>
    Parameter? Bias { get; }
}

/// <summary>A part that separates two islands.</summary>
public interface IBarrier
{
    /// <summary>Terminals on one side; the rest are on the other.</summary>
    ImmutableArray<Terminal> FirstSide { get; }

    Quantity? Withstands { get; }

    /// <summary>How it isolates, <see cref="Withstands"/> apart.</summary>
    Insulation Insulation { get; }
}
