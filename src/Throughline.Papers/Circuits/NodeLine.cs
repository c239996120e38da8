namespace Throughline.Papers;

/// <summary>A node, drawn as a level line.</summary>
/// <param name="From">Where it begins, px from the left.</param>
/// <param name="To">Where it ends.</param>
/// <param name="Name">As in the file.</param>
/// <param name="Points">The test points on it, one after another; empty when there is none.</param>
/// <param name="Label">Room for name, test points and voltage.</param>
public sealed record NodeLine(string Name, double Y, double From, double To, string Points, Area Label);
