using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Turns what parts say they consist of into a network and the laws of its slots.</summary>
internal sealed class NetworkSink(NetworkBuilder builder) : INetworkSink
{
    /// <summary>Far beyond every voltage of an instrument, V.</summary>
    private const double NoLimit = 1e4;

    /// <summary>Slot laws in the order added: element, offset of the slot within it, law.</summary>
    public List<(ElementId Element, int Offset, Law Law)> Laws { get; } = [];

    /// <summary>Elements whose first slot only moves a source.</summary>
    public HashSet<ElementId> Sources { get; } = [];

    /// <summary>Elements by name.</summary>
    public Dictionary<string, ElementId> Elements { get; } = [];

    /// <summary>Amplifier elements with their pins, by part name, and the offset of their limit slots.</summary>
    public List<AmplifierPins> Amplifiers { get; } = [];

    public void Resistor(string name, string a, string b, Law ohms) =>
        Bind(name, builder.Resistor(name, Node(a), Node(b)), ohms);

    public void Capacitor(string name, string a, string b, Law farads) =>
        Bind(name, builder.Capacitor(name, Node(a), Node(b)), farads);

    public void Inductor(string name, string a, string b, Law henries) =>
        Bind(name, builder.Inductor(name, Node(a), Node(b)), henries);

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null)
    {
        ElementId element = builder.VoltageSource(name, Node(plus), Node(minus));
        Sources.Add(element);
        Bind(name, element, volts);
        BindAt(element, (int)SourceSlot.Noise, noise?.Voltage);
        BindAt(element, (int)SourceSlot.NoiseCorner, noise?.Corner);
    }

    public void CurrentSource(string name, string from, string to, Law amperes)
    {
        ElementId element = builder.CurrentSource(name, Node(from), Node(to));
        Sources.Add(element);
        Bind(name, element, amperes);
    }

    public void Link(string name, string a, string b) => Bind(name, builder.Link(name, Node(a), Node(b)));

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws)
    {
        ElementId element = builder.OpAmp(name, Node(plus), Node(minus), Node(output), Node(positiveSupply), Node(negativeSupply));
        Bind(
            name,
            element,
            laws.Gain,
            laws.Offset,
            laws.BiasPlus,
            laws.BiasMinus,
            laws.CommonModeError,
            laws.SupplyError,
            laws.NominalSupply,
            laws.InputResistance,
            laws.OutputResistance);
        BindLimits(name, element, (int)OpAmpSlot.SwingBelowPositive, laws.Limits, plus, minus, output, positiveSupply, negativeSupply);
        StateSupplyError(laws.SupplyError, laws.SupplyErrorCorner, (int)OpAmpSlot.Offset);
        BindAt(element, (int)OpAmpSlot.GainBandwidth, laws.GainBandwidth);
        BindAt(element, (int)OpAmpSlot.SlewRate, laws.SlewRate);
        BindAt(element, (int)OpAmpSlot.Noise, laws.Noise.Voltage);
        BindAt(element, (int)OpAmpSlot.NoiseCorner, laws.Noise.Corner);
        BindAt(element, (int)OpAmpSlot.NoiseCurrent, laws.Noise.Current);
    }

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws)
    {
        ElementId element = builder.InstrumentationAmplifier(
            name, Node(plus), Node(minus), Node(output), Node(reference), Node(positiveSupply), Node(negativeSupply));
        Bind(
            name,
            element,
            laws.Gain,
            laws.InputOffset,
            laws.OutputOffset,
            laws.BiasPlus,
            laws.BiasMinus,
            laws.CommonModeError,
            laws.SupplyError,
            laws.NominalSupply);
        BindLimits(name, element, (int)InstrumentationAmplifierSlot.SwingBelowPositive, laws.Limits, plus, minus, output, positiveSupply, negativeSupply);
        StateSupplyError(laws.SupplyError, laws.SupplyErrorCorner, (int)InstrumentationAmplifierSlot.InputOffset);
        BindAt(element, (int)InstrumentationAmplifierSlot.Bandwidth, laws.Bandwidth);
        BindAt(element, (int)InstrumentationAmplifierSlot.SlewRate, laws.SlewRate);
        BindAt(element, (int)InstrumentationAmplifierSlot.InputNoise, laws.Noise.Voltage);
        BindAt(element, (int)InstrumentationAmplifierSlot.InputNoiseCorner, laws.Noise.Corner);
        BindAt(element, (int)InstrumentationAmplifierSlot.NoiseCurrent, laws.Noise.Current);
    }

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws)
    {
        ElementId element = builder.IsolationAmplifier(name, Node(plus), Node(minus), Node(outputPlus), Node(outputMinus));
        Bind(
            name,
            element,
            laws.Gain,
            laws.InputOffset,
            laws.OutputOffset,
            laws.InputResistance,
            laws.OutputResistance,
            laws.InputLow,
            laws.InputHigh,
            laws.OutputLow,
            laws.OutputHigh);
        BindAt(element, (int)IsolationAmplifierSlot.Bandwidth, laws.Bandwidth);
        BindAt(element, (int)IsolationAmplifierSlot.InputNoise, laws.Noise.Voltage);
        BindAt(element, (int)IsolationAmplifierSlot.InputNoiseCorner, laws.Noise.Corner);
        Amplifiers.Add(new AmplifierPins(name, element, plus, minus, outputPlus, outputMinus, outputMinus, IsIsolation: true)
        {
            InputLow = laws.InputLow,
            InputHigh = laws.InputHigh,
            OutputLow = laws.OutputLow,
            OutputHigh = laws.OutputHigh,
            LimitSlots = [(int)IsolationAmplifierSlot.OutputLow, (int)IsolationAmplifierSlot.OutputHigh],
        });
    }

    public void Diode(string name, string anode, string cathode, DiodeLaws laws) =>
        Bind(name, builder.Diode(name, Node(anode), Node(cathode)), laws.SaturationCurrent, laws.Emission, laws.SeriesResistance, laws.Breakdown);

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws) =>
        Bind(
            name,
            builder.Bipolar(name, Node(collector), Node(@base), Node(emitter), isNpn),
            laws.SaturationCurrent,
            laws.ForwardGain,
            laws.ReverseGain,
            laws.SaturationVoltage);

    /// <summary>A source of the voltage of a node that only takes current, or only gives it; not an amplifier that anyone has to look after.</summary>
    public void OneWayFollower(string name, string held, string output, string back, bool takes)
    {
        OpAmp(
            name, held, output, output, back, back,
            new OpAmpLaws
            {
                Limits = new AmplifierLimits
                {
                    SwingBelowPositive = _ => -NoLimit,
                    SwingAboveNegative = _ => -NoLimit,
                    SourceCurrent = takes ? _ => 0 : null,
                    SinkCurrent = takes ? null : _ => 0,
                },
            });
        Amplifiers.RemoveAll(a => a.Name == name);
    }

    public NodeId Node(string name) => builder.Node(name);

    private void Bind(string name, ElementId element, params Law?[] laws)
    {
        Elements[name] = element;
        for (int i = 0; i < laws.Length; i++)
        {
            if (laws[i] is { } law)
            {
                Laws.Add((element, i, law));
            }
        }
    }

    private void BindAt(ElementId element, int offset, Law? law)
    {
        if (law is not null)
        {
            Laws.Add((element, offset, law));
        }
    }

    /// <summary>Of the amplifier last added.</summary>
    private void StateSupplyError(Law? error, double? corner, int offset) =>
        Amplifiers[^1] = Amplifiers[^1] with { SupplyError = error, SupplyErrorCorner = corner, OffsetSlot = offset };

    private void BindLimits(
        string name, ElementId element, int first, AmplifierLimits limits, string plus, string minus, string output, string positive, string negative)
    {
        Law?[] laws =
        [
            limits.SwingBelowPositive,
            limits.SwingAboveNegative,
            limits.SourceCurrent,
            limits.SinkCurrent,
            limits.InputBelowPositive,
            limits.InputAboveNegative,
            limits.SupplyCurrent,
        ];
        for (int i = 0; i < laws.Length; i++)
        {
            if (laws[i] is { } law)
            {
                Laws.Add((element, first + i, law));
            }
        }

        Amplifiers.Add(new AmplifierPins(name, element, plus, minus, output, positive, negative, IsIsolation: false)
        {
            Limits = limits,
            LimitSlots = [first, first + 1, first + 2, first + 3],
        });
    }
}

/// <summary>An amplifier in the network with what its limits are.</summary>
/// <param name="Positive">Positive supply; the output's return for an isolation amplifier.</param>
internal sealed record AmplifierPins(
    string Name, ElementId Element, string Plus, string Minus, string Output, string Positive, string Negative, bool IsIsolation)
{
    public AmplifierLimits Limits { get; init; } = new();

    public Law? InputLow { get; init; }

    public Law? InputHigh { get; init; }

    public Law? OutputLow { get; init; }

    public Law? OutputHigh { get; init; }

    /// <summary>V/V; null for none.</summary>
    public Law? SupplyError { get; init; }

    /// <summary>Frequency above which its supply error rises with frequency, Hz; null where it does not.</summary>
    public double? SupplyErrorCorner { get; init; }

    /// <summary>Offset within the element of the slot of the offset that a supply error adds to.</summary>
    public int OffsetSlot { get; init; }

    /// <summary>Offsets within the element of the slots that limit its output: below positive, above negative, source, sink; or low, high.</summary>
    public required int[] LimitSlots { get; init; }
}
