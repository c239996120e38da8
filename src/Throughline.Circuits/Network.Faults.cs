using System.Collections.Immutable;

namespace Throughline.Circuits;

public sealed partial class Network
{
    private readonly ImmutableArray<Func<IReadOnlyList<Element>, Element>> _recipes;
    private readonly ImmutableArray<NodeId> _returns;

    /// <summary>
    /// The same network with a part failed. Nodes, elements and slots keep their numbers, so values, probes and names of the sound network serve it; a short adds
    /// one link behind them all.
    /// </summary>
    /// <exception cref="ArgumentException">A pin is not one of the element's, or is left out.</exception>
    public Network With(Fault fault)
    {
        Element failed = this[fault.Element];
        var recipes = _recipes.ToBuilder();
        Func<IReadOnlyList<Element>, Element> sound = recipes[fault.Element.Index];
        recipes[fault.Element.Index] = elements => new Absent(sound(elements));
        if (fault.IsShort)
        {
            var pins = Pins(fault.Element);
            if (fault.FirstPin >= pins.Length || fault.SecondPin >= pins.Length || pins[fault.FirstPin] is not { } first || pins[fault.SecondPin] is not { } second)
                throw new ArgumentException($"{failed.Name} has no such pins to join.", nameof(fault));
            // A short between pins that are on one node already changes nothing, and a link there would be a loop of its own.
            if (first != second)
                recipes.Add(_ => new Link($"{failed.Name} short", first, second));
        }

        return new Network(_nodeNames, recipes.ToImmutable(), _returns);
    }

    /// <summary>What the element may fail to: open, and a short between every two pins that direct current or a signal passes between.</summary>
    public ImmutableArray<Fault> FaultsOf(ElementId element)
    {
        var faults = ImmutableArray.CreateBuilder<Fault>();
        faults.Add(Fault.Open(element));
        Element found = this[element];
        ReadOnlySpan<(int First, int Second)> pairs = found switch
        {
            Amplifier => [.. found.Paths],
            IsolationAmplifier => [(2, 3), (0, 1)],
            Bipolar => [(0, 2), (0, 1), (1, 2)],
            FieldEffect => [(0, 2), (0, 1), (1, 2)],
            _ when found.Pins.Count == 2 => [(0, 1)],
            _ => [],
        };
        foreach ((int first, int second) in pairs)
        {
            if (found.Pins[first] >= 0 && found.Pins[second] >= 0 && found.Pins[first] != found.Pins[second])
                faults.Add(Fault.Short(element, first, second));
        }

        return faults.ToImmutable();
    }

    private static ImmutableArray<Element> Cook(ImmutableArray<Func<IReadOnlyList<Element>, Element>> recipes)
    {
        var elements = new List<Element>(recipes.Length);
        foreach (Func<IReadOnlyList<Element>, Element> recipe in recipes)
        {
            Element element = recipe(elements);
            element.Index = elements.Count;
            elements.Add(element);
        }

        return [.. elements];
    }
}
