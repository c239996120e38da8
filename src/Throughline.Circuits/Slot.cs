namespace Throughline.Circuits;

/// <summary>One number of a network: an element's quantity. Slots are numbered from 0 in the order in which elements were added.</summary>
/// <param name="Element">The element it belongs to.</param>
/// <param name="ElementName">Its name.</param>
/// <param name="Quantity">What it is, in the trade's words, such as <c>resistance</c>.</param>
/// <param name="Default">The value that <see cref="Network.CreateValues"/> puts there, in SI units.</param>
public sealed record Slot(ElementId Element, string ElementName, string Quantity, double Default);
