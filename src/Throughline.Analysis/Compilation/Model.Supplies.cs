using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>The supplies and the isolation as a network.</content>
public sealed partial class Model
{
    internal const string GroundElement = "ground difference";

    /// <summary>Insulation of which nothing is stated, Ω: as good as none of it conducting.</summary>
    private const double WholeInsulation = 1e15;

    /// <summary>What leaks from a rail without supply to its return besides what is stated, Ω (common practice, no source).</summary>
    private const double UnpoweredOhms = 10e6;

    private ImmutableArray<double> _statedLoads;
    private HashSet<string>? _shuntReferences;

    private HashSet<string> ShuntReferences => _shuntReferences ??= FindShuntReferences();

    /// <summary>The element of a supply whose output resistance stands behind it.</summary>
    internal static string OutputResistanceElement(string supply) => supply + " output resistance";

    /// <summary>The element that takes what the drawn circuit does not take from a supply that sags.</summary>
    internal static string FurtherLoadElement(string supply) => supply + " further load";

    /// <summary>The element that feeds a shunt regulator from its input.</summary>
    internal static string FeedElement(string supply) => supply + " feed";

    /// <summary>The network with the sensor, both grounds joined through a source of the difference between them.</summary>
    internal BoundNetwork BindGrounds(GroundPath grounds) => Bind(simulated: false, grounds: grounds);

    /// <summary>
    /// A supply is a source of its voltage above its return. One that sags has its resistance behind that, one in series stands between its input and its
    /// output; what they feed besides the circuit then moves their voltage, so that it is in the network too.
    /// </summary>
    private void DescribeSupplies(NetworkSink sink, Fault? fault)
    {
        _statedLoads = _statedLoads.IsDefault ? StatedLoads() : _statedLoads;
        for (int i = 0; i < Instrument.Supplies.Length; i++)
        {
            Supply supply = Instrument.Supplies[i];
            (string name, string back, Parameter voltage) = (supply.Name.Value, supply.Return.Value, supply.Voltage);
            if (fault?.IsGone(supply) == true)
            {
                DescribeMissing(sink, supply, _statedLoads[i]);
                continue;
            }

            bool isWeak = fault?.HasWeakSupplies == true;
            Law volts = fault?.SupplyVolts is { } given && given.ContainsKey(name) ? _ => given[name] : s => s.Value(voltage);
            if (supply.Kind == SupplyKind.Loop)
            {
                double drop = supply.Drop?.Value ?? 0;
                string terminal = Instrument.Loop?.Plus.Value ?? back;
                if (drop > 0 && fault?.Wiring is { IsReversed: true })
                {
                    // What drops a voltage against wires exchanged blocks them.
                    sink.Resistor(name, name, terminal, _ => Fault.OpenOhms);
                }
                else
                {
                    sink.VoltageSource(name, name, terminal, _ => -drop);
                }
            }
            else if (supply is { IsShunt: true, Feed: { } feed, From: { } source })
            {
                DescribeShunt(sink, supply, volts, source.Value, feed);
            }
            else if (supply is { IsLoopFed: true, IsInSeries: false, From: { } feeds })
            {
                // What goes out of it comes in from what feeds it: an amplifier that follows its voltage takes its output current from its supply.
                string reference = name + ".reference";
                double dropout = supply.Dropout?.High ?? 0;
                double quiescent = isWeak ? 0 : supply.Quiescent?.Value ?? 0;
                if (isWeak && supply.Quiescent is { Value: not 0 } own && StatedVolts(feeds.Value) is not 0 and var fed)
                {
                    double ohms = Math.Abs(fed / own.Value);
                    sink.Resistor(name + " quiescent", feeds.Value, back, _ => ohms);
                }

                sink.VoltageSource(reference, reference, back, volts);
                sink.OpAmp(
                    name, reference, name, name, feeds.Value, back,
                    new OpAmpLaws { Limits = new AmplifierLimits { SwingBelowPositive = _ => dropout, SupplyCurrent = _ => quiescent } });
                sink.Amplifiers.RemoveAll(a => a.Name == name);
            }
            else if (supply.IsInSeries && supply.From is { } from)
            {
                if (supply.Kind == SupplyKind.ProtectionDiode)
                {
                    double drop = Math.CopySign(supply.Drop?.Value ?? 0, voltage.Quantity.Value);
                    sink.VoltageSource(name, name, from.Value, _ => -drop);
                }
                else
                {
                    double ohms = supply.OutputResistance?.Value ?? Fault.ShortOhms;
                    sink.Resistor(name, from.Value, name, _ => ohms);
                }
            }
            else if (supply.OutputResistance is { } resistance)
            {
                string inner = name + ".source";
                double ohms = resistance.Value;
                sink.VoltageSource(name, inner, back, volts);
                sink.Resistor(OutputResistanceElement(name), inner, name, _ => ohms);
            }
            else
            {
                sink.VoltageSource(name, name, back, volts);
            }

            if (supply.Sags && isWeak)
            {
                DescribeStatedLoad(sink, supply, _statedLoads[i]);
            }
            else if (supply.Sags)
            {
                int index = i;
                double stated = _statedLoads[i];
                sink.CurrentSource(FurtherLoadElement(name), name, back, s => ((UnitState)s).FurtherLoads is { } loads ? loads[index] : stated);
            }
        }
    }

    /// <summary>A follower of the shunt regulator's voltage that only takes current away, behind its resistance; the feed stands between input and rail.</summary>
    private static void DescribeShunt(NetworkSink sink, Supply supply, Law volts, string source, Quantity feed)
    {
        (string name, string back) = (supply.Name.Value, supply.Return.Value);
        double fed = feed.Value;
        bool isPositive = supply.Voltage.Quantity.Value >= 0;
        if (feed.Dimension == Dimension.Resistance)
        {
            sink.Resistor(FeedElement(name), source, name, _ => fed);
        }
        else
        {
            sink.CurrentSource(FeedElement(name), isPositive ? source : name, isPositive ? name : source, _ => fed);
        }

        string at = name;
        if (supply.OutputResistance is { } resistance)
        {
            at = name + ".source";
            double ohms = resistance.Value;
            sink.Resistor(OutputResistanceElement(name), at, name, _ => ohms);
        }

        string reference = name + ".reference";
        sink.VoltageSource(reference, reference, back, volts);
        sink.OneWayFollower(name, reference, at, back, takes: isPositive);
    }

    /// <summary>
    /// A supply that gives nothing is disconnected: what hangs on its node decides the voltage there. What it feeds besides the circuit is a resistance then, and
    /// what leaks through everything else keeps the node from hanging in the air.
    /// </summary>
    private static void DescribeMissing(NetworkSink sink, Supply supply, double statedLoad)
    {
        DescribeStatedLoad(sink, supply, statedLoad);
        sink.Resistor(supply.Name.Value + " leakage", supply.Name.Value, supply.Return.Value, _ => UnpoweredOhms);
    }

    /// <summary>What takes a current at the stated voltage takes less at a lower one: the resistance that takes it.</summary>
    private static void DescribeStatedLoad(NetworkSink sink, Supply supply, double amperes)
    {
        if (amperes != 0 && supply.Voltage.Quantity.Value != 0)
        {
            double ohms = Math.Abs(supply.Voltage.Quantity.Value / amperes);
            sink.Resistor(supply.Name.Value + " load", supply.Name.Value, supply.Return.Value, _ => ohms);
        }
    }

    /// <summary>The stated voltage of a node above its return: of a supply its own, of any other 0 V.</summary>
    private double StatedVolts(string node) => Instrument.Supplies.FirstOrDefault(s => s.Name.Value == node)?.Voltage.Quantity.Value ?? 0;

    /// <summary>Parts as they are while some supplies give less than stated, or nothing.</summary>
    private WeakSink Weak(NetworkSink sink, Part part, Fault fault) => new WeakSink(
        sink, StatedVolts, node => Instrument.Supplies.Any(s => s.Name.Value == node && fault.IsGone(s)), IsFed(part));

    /// <summary>Whether it is a reference that the circuit feeds: it takes current and gives none.</summary>
    private bool IsFed(Part part) => part.Kind == "reference" && ShuntReferences.Contains(part.Name.Value);

    /// <summary>References that the circuit feeds: current flows into them, and they give none. The others are taken to have a supply that is not drawn.</summary>
    private HashSet<string> FindShuntReferences()
    {
        NetworkRun run = new(Field);
        return run.Solve(CreateState(), limited: true).Status != SolveStatus.Solved
            ? []
            : [.. Parts.Where(p => p.Kind == "reference" && Field.Elements.TryGetValue(p.Name.Value, out ElementId id) && run.Point!.Current(id) < 0).Select(p => p.Name.Value)];
    }

    /// <summary>What each supply feeds besides the drawn circuit by the typical stated figures, A: its own draws and what those behind it take for theirs.</summary>
    private ImmutableArray<double> StatedLoads()
    {
        double[] loads = new double[Instrument.Supplies.Length];
        HashSet<string> onTheWay = [];
        for (int i = 0; i < loads.Length; i++)
        {
            loads[i] = Of(Instrument.Supplies[i], throughSeries: false);
        }

        return [.. loads];

        double Of(Supply supply, bool throughSeries)
        {
            if (!onTheWay.Add(supply.Name.Value))
            {
                return 0;
            }

            double volts = supply.Voltage.Quantity.Value;
            double sum = Math.CopySign(supply.Draws.Sum(d => d.Current.Value), volts);
            foreach (Supply next in Instrument.Supplies.Where(s => s.From?.Value == supply.Name.Value))
            {
                // What a part in series feeds flows through the network by itself, as far as it is a source there.
                sum += next.IsLoopFed || next.IsShunt ? 0 : next.IsInSeries ? throughSeries ? Of(next, true) : 0 : SupplyLaw.InputAmperes(next, volts, next.Voltage.Quantity.Value, Of(next, true));
            }

            onTheWay.Remove(supply.Name.Value);
            return sum;
        }
    }

    /// <summary>One return holds the whole; the others stand on their insulation, and the two grounds on the source between them.</summary>
    private void DescribeGrounds(NetworkSink sink, NetworkBuilder builder, GroundPath grounds)
    {
        HashSet<string> joined = [];
        foreach (Supply supply in Instrument.Supplies.Where(s => s.Kind == SupplyKind.IsolatedConverter))
        {
            if (Instrument.Supplies.FirstOrDefault(s => s.Name.Value == supply.From?.Value) is { } source && source.Return.Value != supply.Return.Value)
            {
                Insulate(supply.Name.Value, supply.Insulation, source.Return.Value, supply.Return.Value);
            }
        }

        if (OutputConverter is { Link: { Kind.Value: not "plain" } link } dac && (dac.OutputReturn?.Value ?? OutputReturnGuess(dac)) is var far && far != DefaultReturn)
        {
            Insulate(dac.Name.Value + " link", link.Insulation, DefaultReturn, far);
        }

        foreach (Part part in Parts)
        {
            if (part is IBarrier barrier && ReturnOfSide(barrier.FirstSide) is { } near
                && ReturnOfSide(part.Terminals.Where(t => barrier.FirstSide.All(f => f.Node.Value != t.Node.Value))) is { } other && near != other)
            {
                (string first, string second) = other == DefaultReturn ? (other, near) : (near, other);
                Insulate(part.Name.Value, barrier.Insulation, first, second);
            }
        }

        foreach (string name in ReturnNames().Where(n => !joined.Contains(n) || n == DefaultReturn))
        {
            builder.Return(builder.Node(name));
        }

        double volts = grounds.Volts;
        sink.VoltageSource(GroundElement, grounds.Receiver, grounds.Process, _ => volts);

        string? ReturnOfSide(IEnumerable<Terminal> side) => side.Select(t => NearestReturn(t.Node.Value)).FirstOrDefault(r => r is not null);

        void Insulate(string name, Insulation? insulation, string near, string far)
        {
            double ohms = grounds.IsIsolated ? Least(insulation?.Resistance) : Fault.ShortOhms;
            sink.Resistor(name + " insulation", near, far, _ => ohms);
            joined.Add(far);
            if (grounds.IsIsolated && insulation?.Capacitance is { } coupling)
            {
                double farads = double.IsFinite(coupling.High) ? coupling.High : coupling.Value;
                sink.Capacitor(name + " coupling", near, far, _ => farads);
            }
        }

        static double Least(Quantity? ohms) => ohms is null ? WholeInsulation : double.IsFinite(ohms.Low) ? ohms.Low : ohms.Value;
    }
}

/// <summary>Two grounds and what is between them.</summary>
/// <param name="Process">The node on ground in the process.</param>
/// <param name="Receiver">The node on ground at the receiver.</param>
/// <param name="Volts">Ground at the receiver above that in the process, V.</param>
/// <param name="IsIsolated">Whether the isolation is there, as stated; else its two sides are one.</param>
internal sealed record GroundPath(string Process, string Receiver, double Volts, bool IsIsolated);
