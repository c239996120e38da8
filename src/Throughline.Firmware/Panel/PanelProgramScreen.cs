using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A screen of a <see cref="PanelProgram"/>. A screen that there is not is −1.</summary>
public sealed record PanelProgramScreen
{
    /// <summary>One in each language.</summary>
    public required ImmutableArray<PanelProgramPage> Pages { get; init; }

    /// <summary>What each key does, from the left.</summary>
    public required ImmutableArray<PanelStep> Keys { get; init; }

    public required PanelStep OnSteady { get; init; }

    /// <summary>0 for a screen that stays.</summary>
    public required long AfterMilliseconds { get; init; }

    public required int AfterScreen { get; init; }

    public required int TakenScreen { get; init; }

    public required int AcceptedScreen { get; init; }

    public required int RefusedScreen { get; init; }

    /// <summary>In which standard the user calibrates here, from 0; −1 for none.</summary>
    public required int Standard { get; init; }

    /// <summary>Which value is entered here; −1 for none.</summary>
    public required int Entry { get; init; }

    /// <summary>Which current of the output's trim is given and entered here, 0 for the lower one; −1 for none.</summary>
    public required int Trims { get; init; }

    public required PanelLoop Loop { get; init; }
}

/// <summary>What the display shows of a screen in one language.</summary>
/// <param name="Text">Codes of the display, row by row; the fields' places hold what the file has there.</param>
public sealed record PanelProgramPage(ImmutableArray<byte> Text, ImmutableArray<PanelProgramField> Fields);

/// <summary>Where a number stands.</summary>
/// <param name="Scale">Place in <see cref="PanelProgram.Scales"/>; −1 for dashes.</param>
public readonly record struct PanelProgramField(int Row, int Column, int Width, int Decimals, int Scale);

/// <summary>What a key does.</summary>
/// <param name="Screen">Where to, for <see cref="PanelStepKind.Go"/>.</param>
public readonly record struct PanelStep(PanelStepKind Kind, int Screen);

/// <summary>Kinds of steps; the numbers are those of the C code.</summary>
public enum PanelStepKind
{
    None,
    Go,
    Up,
    Down,
    Take,
    Restore,
    Language,
}
