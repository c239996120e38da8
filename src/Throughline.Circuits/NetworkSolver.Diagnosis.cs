namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    /// <summary>A current driven into a part of the network from which it has no way back, as a sentence; null when there is none.</summary>
    private string? FindUnreturnedCurrent()
    {
        foreach ((NodeId node, var drivers) in _network.FloatingDrivers)
        {
            if (drivers.IsEmpty)
                continue;
            double sum = 0;
            double magnitude = 0;
            foreach ((Element element, int pin) in drivers)
            {
                double current = pin == 0 ? element.Current(_w) : -element.Current(_w);
                sum += current;
                magnitude += Math.Abs(current);
            }

            if (Math.Abs(sum) > 1e-12 * magnitude)
                return $"{drivers[0].Element.Name} drives a current into node {_network.NodeName(new NodeId(drivers[0].Element.Pins[drivers[0].Pin]))}, from where no path leads back to a return.";
        }

        if (!_hasTies)
            return null;
        double bias = 0;
        foreach (Element element in _elements)
        {
            if (element is Amplifier amplifier)
                bias += amplifier.BiasMagnitude(_w);
        }

        for (int unknown = 0; unknown < _isTied.Length; unknown++)
        {
            // Bias currents may run into a node that floats: that is an outcome. Any other current is a contradiction.
            double unreturned = Math.Abs(TieConductance * _w.X[unknown]);
            if (_isTied[unknown] && unreturned > (1e-9 * _w.Magnitude[unknown]) + (1.000001 * bias))
                return $"A current flows into {_network.DescribeUnknown(unknown)}, from where no path leads back to a return.";
        }

        return null;
    }

    private string Explain(Outcome outcome)
    {
        if (outcome == Outcome.NotSettled)
        {
            var names = new List<string>();
            for (int k = 0; k < _nonlinear.Length && names.Count < 4; k++)
            {
                if (_whole.IsUnsettled[k])
                    names.Add(_nonlinear[k].Name);
            }

            return names.Count == 0
                ? "The iteration did not settle: voltages grew without bound."
                : $"The iteration did not settle at {string.Join(", ", names)}.";
        }

        if (_blamed is not null)
            return $"{_blamed.Name}: nothing that its output does reaches its inputs, so its infinite gain has no answer.";
        foreach (int row in _remainingRows)
        {
            if (_network.ElementOfUnknown(row) is not { } element)
                continue;
            if (element is Amplifier)
                return $"{element.Name}: nothing that its output does reaches its inputs, so its infinite gain has no answer.";
            List<string> loop = LoopOfShorts(element);
            if (loop.Count == 1)
                return $"{element.Name} joins a node to itself: its voltage has no way to be.";
            if (loop.Count > 1)
                return $"{string.Join(", ", loop)} form a loop of ideal voltages: they contradict each other or leave the current among them open.";
            return $"The equation of {element.Name} contradicts the others or repeats them.";
        }

        return _remainingRows.Length > 0
            ? $"The currents at {_network.DescribeUnknown(_remainingRows[0])} contradict each other, or nothing sets its voltage."
            : "The equations have no single answer.";
    }

    /// <summary>Names of the elements without resistance that close a loop over the given one, itself first.</summary>
    private List<string> LoopOfShorts(Element closing)
    {
        if (closing.Pins.Count < 2 || closing.Paths.Count == 0)
            return [];
        (int firstPin, int secondPin) = closing.Paths[0];
        int from = closing.Pins[firstPin];
        int to = closing.Pins[secondPin];
        var cameBy = new Dictionary<int, (int Node, Element? Element)> { [from] = (from, null) };
        var queue = new Queue<int>([from]);
        while (queue.TryDequeue(out int node) && node != to)
        {
            foreach (Element element in _elements)
            {
                if (ReferenceEquals(element, closing) || !IsShort(element))
                    continue;
                foreach ((int first, int second) in element.Paths)
                {
                    int a = element.Pins[first];
                    int b = element.Pins[second];
                    int next = a == node ? b : b == node ? a : -1;
                    if (next >= 0 && cameBy.TryAdd(next, (node, element)))
                        queue.Enqueue(next);
                }
            }
        }

        if (!cameBy.ContainsKey(to))
            return [];
        List<string> names = [closing.Name];
        for (int node = to; node != from; node = cameBy[node].Node)
            names.Add(cameBy[node].Element!.Name);
        return names;
    }

    private bool IsShort(Element element) => element switch
    {
        VoltageSource or Link or Inductor or ControlledVoltageSource => true,
        Resistor => _w.Values[element.FirstSlot] == 0,
        Amplifier or IsolationAmplifier => true,
        _ => false,
    };
}
