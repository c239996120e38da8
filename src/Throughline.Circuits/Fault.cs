namespace Throughline.Circuits;

/// <summary>What a part may fail to: off the board, or two of its pins joined while the rest of it is gone.</summary>
public readonly record struct Fault
{
    private Fault(ElementId element, int firstPin, int secondPin)
    {
        Element = element;
        FirstPin = firstPin;
        SecondPin = secondPin;
    }

    public ElementId Element { get; }

    /// <summary>Pins that are joined, by their place in the builder's arguments; both −1 for an open.</summary>
    public int FirstPin { get; }

    public int SecondPin { get; }

    public bool IsShort => FirstPin >= 0;

    /// <summary>Every pin of the element is disconnected.</summary>
    public static Fault Open(ElementId element) => new(element, -1, -1);

    /// <summary>Two pins of the element are joined without resistance; its other pins are disconnected.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A pin is negative.</exception>
    public static Fault Short(ElementId element, int firstPin, int secondPin)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(firstPin);
        ArgumentOutOfRangeException.ThrowIfNegative(secondPin);
        return new Fault(element, firstPin, secondPin);
    }
}
