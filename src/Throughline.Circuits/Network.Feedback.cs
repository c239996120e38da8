using System.Collections.Immutable;

namespace Throughline.Circuits;

public sealed partial class Network
{
    /// <summary>Op amps whose output may act on their own inputs the wrong way round, so that a solved point need not be one that stays.</summary>
    internal ImmutableArray<OpAmp> PossibleLatches { get; private set; } = [];

    private void FindPossibleLatches()
    {
        bool[] isStiff = FindStiffNodes();
        PossibleLatches = [.. _elements.OfType<OpAmp>().Where(amplifier => MayLatch(amplifier, isStiff))];
        foreach (OpAmp amplifier in PossibleLatches)
            amplifier.MayLatch = true;
    }

    /// <summary>
    /// True when the output reaches the plus input, or reaches the minus input through something that may turn the sign. Plain negative feedback by
    /// two-pin parts, which most amplifiers have, needs no look at every solve.
    /// </summary>
    private bool MayLatch(OpAmp amplifier, bool[] isStiff)
    {
        int plus = amplifier.Pins[0];
        int minus = amplifier.Pins[1];
        int output = amplifier.Pins[2];
        return Reaches(output, plus, amplifier, isStiff, throughActive: true)
            || (Reaches(output, minus, amplifier, isStiff, throughActive: true) && !Reaches(output, minus, amplifier, isStiff, throughActive: false));
    }

    private bool Reaches(int from, int to, Element without, bool[] isStiff, bool throughActive)
    {
        if (from == to)
            return true;
        var seen = new bool[NodeCount];
        seen[from] = true;
        var queue = new Queue<int>([from]);
        while (queue.TryDequeue(out int node))
        {
            foreach (Element element in _elements)
            {
                if (ReferenceEquals(element, without) || !element.Pins.Contains(node))
                    continue;
                bool isActive = element is not TwoPin || element is ControlledVoltageSource;
                if (isActive && !throughActive)
                    continue;
                IEnumerable<int> next = element is Amplifier ? [element.Pins[2]] : element.Pins;
                foreach (int other in next)
                {
                    if (other < 0 || seen[other] || isStiff[other])
                        continue;
                    if (other == to)
                        return true;
                    seen[other] = true;
                    queue.Enqueue(other);
                }
            }
        }

        return false;
    }

    /// <summary>Nodes that ideal sources and links hold to a pinned node: nothing moves them.</summary>
    private bool[] FindStiffNodes()
    {
        var isStiff = new bool[NodeCount];
        foreach (int node in _pinnedNodes)
            isStiff[node] = true;
        for (bool again = true; again;)
        {
            again = false;
            foreach (Element element in _elements)
            {
                if (element is not (VoltageSource or Link or Inductor) || isStiff[element.Pins[0]] == isStiff[element.Pins[1]])
                    continue;
                isStiff[element.Pins[0]] = isStiff[element.Pins[1]] = true;
                again = true;
            }
        }

        return isStiff;
    }
}
