using System.Globalization;

namespace Throughline.Instruments.Tests.Parts;

/// <summary>Writes down what parts say they consist of; laws are asked at one state.</summary>
internal sealed class RecordingSink(IUnitState state) : INetworkSink
{
    public List<string> Lines { get; } = [];

    public OpAmpLaws? LastOpAmp { get; private set; }

    public InstrumentationAmplifierLaws? LastInstrumentationAmplifier { get; private set; }

    public IsolationAmplifierLaws? LastIsolationAmplifier { get; private set; }

    public DiodeLaws? LastDiode { get; private set; }

    public BipolarLaws? LastBipolar { get; private set; }

    public void Resistor(string name, string a, string b, Law ohms) => Write("resistor", name, [a, b], ohms);

    public void Capacitor(string name, string a, string b, Law farads) => Write("capacitor", name, [a, b], farads);

    public void Inductor(string name, string a, string b, Law henries) => Write("inductor", name, [a, b], henries);

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null) => Write("voltage", name, [plus, minus], volts);

    public void CurrentSource(string name, string from, string to, Law amperes) => Write("current", name, [from, to], amperes);

    public void Link(string name, string a, string b) => Write("link", name, [a, b], null);

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws)
    {
        LastOpAmp = laws;
        Write("op amp", name, [plus, minus, output, positiveSupply, negativeSupply], null);
    }

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws)
    {
        LastInstrumentationAmplifier = laws;
        Write("instrumentation amplifier", name, [plus, minus, output, reference, positiveSupply, negativeSupply], laws.Gain);
    }

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws)
    {
        LastIsolationAmplifier = laws;
        Write("isolation amplifier", name, [plus, minus, outputPlus, outputMinus], laws.Gain);
    }

    public void Diode(string name, string anode, string cathode, DiodeLaws laws)
    {
        LastDiode = laws;
        Write("diode", name, [anode, cathode], null);
    }

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws)
    {
        LastBipolar = laws;
        Write(isNpn ? "npn" : "pnp", name, [collector, @base, emitter], null);
    }

    private void Write(string kind, string name, string[] nodes, Law? law) =>
        Lines.Add($"{kind} {name} {string.Join(' ', nodes)}" + (law is null ? "" : " " + law(state).ToString("G6", CultureInfo.InvariantCulture)));
}

/// <summary>A unit whose parameters are nominal but for some that a test sets.</summary>
internal sealed class FixedState : IUnitState
{
    public Dictionary<string, double> Set { get; } = [];

    public double Measurand { get; init; }

    public double AmbientCelsius { get; init; } = 25;

    public double ProcessCelsius { get; init; } = 25;

    public double AgeSeconds { get; init; }

    public double Value(Parameter parameter) => Set.TryGetValue(parameter.Name, out double value) ? value : parameter.Quantity.Value;
}

/// <summary>Every trimmer at one position.</summary>
internal sealed class FixedSettings(double position) : IPartSettings
{
    public Law Position(Part trimmer) => _ => position;
}
