using Throughline.Analysis;

namespace Throughline.Workbench;

/// <summary>What a workbench serves, and how.</summary>
public sealed record WorkbenchOptions
{
    /// <summary>The opened folder. Nothing outside it is read or written.</summary>
    public required string Folder { get; init; }

    /// <summary>Port on the loopback address; 0 takes a free one.</summary>
    public int Port { get; init; }

    /// <summary>The checks beside those of the chain.</summary>
    public required IReadOnlyList<IFurtherChecks> FurtherChecks { get; init; }

    /// <summary>What a new instrument begins as: names and texts of its files.</summary>
    public required IReadOnlyList<(string Name, string Text)> Template { get; init; }

    /// <summary>Whether edits are rehearsed while nobody does anything, so that the first ones are as fast as the later ones.</summary>
    public bool Rehearses { get; init; }
}
