namespace Throughline.Instruments;

/// <summary>
/// One number of the instrument that a computation may move: a part's value, an amplifier's offset, a sensor's slope. Its identity is the
/// object itself; a quantity of the file becomes one parameter, wherever it is used.
/// </summary>
public sealed class Parameter
{
    /// <param name="owner">The part, supply or sensor it belongs to, such as <c>R1</c>.</param>
    /// <param name="name">What it is, in the trade's words, such as <c>resistance</c>.</param>
    /// <param name="quantity">Value, limits and drift.</param>
    public Parameter(string owner, string name, Quantity quantity)
    {
        Owner = owner;
        Name = name;
        Quantity = quantity;
    }

    public string Owner { get; }

    public string Name { get; }

    public Quantity Quantity { get; }

    public override string ToString() => $"{Owner} {Name}";
}
