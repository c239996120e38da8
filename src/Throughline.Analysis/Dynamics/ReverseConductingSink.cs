using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// Passes elements on, transistors by the full equations of Ebers and Moll: a stated saturation voltage is a law for collectors that stand the right way
/// round and leaves out what flows when they don't.
/// </summary>
internal sealed class ReverseConductingSink(INetworkSink inner) : INetworkSink
{
    public void Resistor(string name, string a, string b, Law ohms) => inner.Resistor(name, a, b, ohms);

    public void Capacitor(string name, string a, string b, Law farads) => inner.Capacitor(name, a, b, farads);

    public void Inductor(string name, string a, string b, Law henries) => inner.Inductor(name, a, b, henries);

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null) => inner.VoltageSource(name, plus, minus, volts, noise);

    public void CurrentSource(string name, string from, string to, Law amperes) => inner.CurrentSource(name, from, to, amperes);

    public void Link(string name, string a, string b) => inner.Link(name, a, b);

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws) =>
        inner.OpAmp(name, plus, minus, output, positiveSupply, negativeSupply, laws);

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws) =>
        inner.InstrumentationAmplifier(name, plus, minus, output, reference, positiveSupply, negativeSupply, laws);

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws) =>
        inner.IsolationAmplifier(name, plus, minus, outputPlus, outputMinus, laws);

    public void Diode(string name, string anode, string cathode, DiodeLaws laws) => inner.Diode(name, anode, cathode, laws);

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws) =>
        inner.Bipolar(name, collector, @base, emitter, isNpn, laws with { SaturationVoltage = null });
}
