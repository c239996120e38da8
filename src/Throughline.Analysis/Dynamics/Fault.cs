using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>One thing gone wrong in an instrument.</summary>
/// <param name="Name">Such as <c>R1 open</c>, <c>sensor short</c>, <c>A5 missing</c>.</param>
/// <param name="Stage">The stage it is listed under.</param>
internal sealed record Fault(string Name, string Stage, SourceSpan Place)
{
    /// <summary>A short of a part is a solder bridge, not nothing: this keeps it apart from a contradiction of ideal sources.</summary>
    public const double ShortOhms = 1e-3;

    /// <summary>The element that joins the two nodes.</summary>
    internal const string ShortElement = "short circuit";

    /// <summary>An open output of a converter, Ω: leaves its node a place to stand.</summary>
    public const double OpenOhms = 1e12;

    /// <summary>The part whose terminal is lifted; null for the sensor.</summary>
    public string? Part { get; init; }

    /// <summary>The node that the part's terminal no longer reaches; null when nothing is lifted.</summary>
    public string? OpenNode { get; init; }

    /// <summary>Two nodes that are joined; null when none are.</summary>
    public (string First, string Second)? Shorted { get; init; }

    /// <summary>How the loop is connected; null for as drawn.</summary>
    public LoopWiring? Wiring { get; init; }

    /// <summary>Supplies that give nothing: one that is disconnected at its source, and all that it feeds.</summary>
    public ImmutableArray<string> MissingSupplies { get; init; } = [];

    /// <summary>
    /// Supplies that give another voltage than the stated one, V; null where all that are there give theirs. The voltages are read at every solve: a network serves for a supply
    /// that falls, while those that give any are the same.
    /// </summary>
    public IReadOnlyDictionary<string, double>? SupplyVolts { get; init; }

    /// <summary>Whether any supply gives less than it should: what hangs on one then takes what its voltage leaves it.</summary>
    public bool HasWeakSupplies => !MissingSupplies.IsEmpty || SupplyVolts is not null;

    /// <summary>Whether nothing connects a supply's node to what feeds it. A fuse behind a supply that is missing is still there.</summary>
    public bool IsGone(Supply supply) =>
        MissingSupplies.Contains(supply.Name.Value) && !(supply.Kind == SupplyKind.Fuse && MissingSupplies.Contains(supply.From?.Value ?? ""));

    /// <summary>Whether the output converter's output is open, as some are until their first code.</summary>
    public bool OpenDrive { get; init; }

    /// <summary>Open and short of every part, break and short of the sensor, every supply missing with what it feeds; in the order of the file.</summary>
    public static IEnumerable<Fault> All(Instrument instrument)
    {
        ImmutableArray<Terminal> sensor = instrument.Sensor.Terminals;
        if (sensor.Length > 0)
        {
            foreach (Fault fault in Opens("sensor", null, "sensor", instrument.Sensor.Span, sensor))
            {
                yield return fault;
            }

            if (sensor.Length >= 2)
            {
                yield return new Fault("sensor short", "sensor", instrument.Sensor.Span) { Shorted = (sensor[0].Node.Value, sensor[1].Node.Value) };
            }
        }

        foreach (Supply supply in instrument.Supplies)
        {
            yield return new Fault(supply.Name.Value + " missing", "supplies", supply.Span) { MissingSupplies = [.. Fed(instrument, supply.Name.Value)] };
        }

        foreach (CircuitStage stage in instrument.Stages.OfType<CircuitStage>())
        {
            foreach (Part part in stage.Parts)
            {
                foreach (Fault fault in OfPart(part, stage.Name.Value))
                {
                    yield return fault;
                }
            }
        }
    }

    private static IEnumerable<Fault> OfPart(Part part, string stage)
    {
        string name = part.Name.Value;
        string[] nodes = [.. part.Terminals.Select(t => t.Node.Value).Distinct()];
        if (part.Kind is "leakage" or "link" or "voltage" or "current" || nodes.Length < 2)
        {
            // A leakage path is a fault already; a link and the bench's sources are not parts on the board.
            yield break;
        }

        if (nodes.Length == 2)
        {
            yield return new Fault(name + " open", stage, part.Span) { Part = name, OpenNode = nodes[0] };

            // A source that is shorted gives nothing: it is lifted too, since an ideal one would win against the short.
            yield return new Fault(name + " short", stage, part.Span)
            {
                Part = name,
                Shorted = (nodes[0], nodes[1]),
                OpenNode = part.Kind == "reference" ? nodes[0] : null,
            };
            yield break;
        }

        foreach (Fault fault in Opens(name, name, stage, part.Span, part.Terminals))
        {
            yield return fault;
        }

        // Neighbouring pins as they are listed: what a solder bridge joins.
        for (int i = 1; i < part.Terminals.Length; i++)
        {
            (Terminal a, Terminal b) = (part.Terminals[i - 1], part.Terminals[i]);
            if (a.Node.Value != b.Node.Value && !a.Name.Contains("supply", StringComparison.Ordinal))
            {
                yield return new Fault($"{name} short {a.Name} to {b.Name}", stage, part.Span) { Part = name, Shorted = (a.Node.Value, b.Node.Value) };
            }
        }
    }

    private static IEnumerable<Fault> Opens(string name, string? part, string stage, SourceSpan span, ImmutableArray<Terminal> terminals)
    {
        string[] nodes = [.. terminals.Select(t => t.Node.Value).Distinct()];
        if (nodes.Length == 2)
        {
            yield return new Fault(name + " open", stage, span) { Part = part, OpenNode = nodes[0] };
            yield break;
        }

        HashSet<string> met = [];
        foreach (Terminal terminal in terminals)
        {
            if (met.Add(terminal.Node.Value))
            {
                yield return new Fault($"{name} open at {terminal.Name}", stage, span) { Part = part, OpenNode = terminal.Node.Value };
            }
        }
    }

    /// <summary>A supply and all that it feeds, over any number of others.</summary>
    public static IEnumerable<string> Fed(Instrument instrument, string supply)
    {
        yield return supply;
        foreach (Supply next in instrument.Supplies.Where(s => s.From?.Value == supply))
        {
            foreach (string name in Fed(instrument, next.Name.Value))
            {
                yield return name;
            }
        }
    }
}

/// <summary>Passes elements on with one node of theirs lifted off the board.</summary>
internal sealed class LiftedSink(INetworkSink inner, string node) : INetworkSink
{
    public void Resistor(string name, string a, string b, Law ohms) => inner.Resistor(name, Lift(name, a), Lift(name, b), ohms);

    public void Capacitor(string name, string a, string b, Law farads) => inner.Capacitor(name, Lift(name, a), Lift(name, b), farads);

    public void Inductor(string name, string a, string b, Law henries) => inner.Inductor(name, Lift(name, a), Lift(name, b), henries);

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null) =>
        inner.VoltageSource(name, Lift(name, plus), Lift(name, minus), volts, noise);

    public void CurrentSource(string name, string from, string to, Law amperes)
    {
        // A source of current into an open end has nowhere to go: it gives nothing.
        if (from != node && to != node)
        {
            inner.CurrentSource(name, from, to, amperes);
        }
    }

    public void Link(string name, string a, string b) => inner.Link(name, Lift(name, a), Lift(name, b));

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws) =>
        inner.OpAmp(name, Lift(name, plus), Lift(name, minus), Lift(name, output), Lift(name, positiveSupply), Lift(name, negativeSupply), laws);

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws) =>
        inner.InstrumentationAmplifier(
            name, Lift(name, plus), Lift(name, minus), Lift(name, output), Lift(name, reference), Lift(name, positiveSupply), Lift(name, negativeSupply), laws);

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws) =>
        inner.IsolationAmplifier(name, Lift(name, plus), Lift(name, minus), Lift(name, outputPlus), Lift(name, outputMinus), laws);

    public void Diode(string name, string anode, string cathode, DiodeLaws laws) => inner.Diode(name, Lift(name, anode), Lift(name, cathode), laws);

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws) =>
        inner.Bipolar(name, Lift(name, collector), Lift(name, @base), Lift(name, emitter), isNpn, laws);

    private string Lift(string name, string at) => at == node ? name + ".lifted" : at;
}
