using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// Passes elements on as they are while something is wrong. Where supplies give less than stated: an amplifier on a rail without supply takes through its supply pins what its
/// voltage leaves it, and through its inputs nothing; a reference that the circuit feeds gives no current.
/// </summary>
/// <param name="statedVolts">Of a node above its return, V.</param>
/// <param name="isGone">Whether a node is a rail without supply.</param>
/// <param name="isShunt">Whether a voltage source is such a reference.</param>
internal sealed class WeakSink(NetworkSink inner, Func<string, double> statedVolts, Func<string, bool> isGone, bool isShunt) : INetworkSink
{
    public void Resistor(string name, string a, string b, Law ohms) => inner.Resistor(name, a, b, ohms);

    public void Capacitor(string name, string a, string b, Law farads) => inner.Capacitor(name, a, b, farads);

    public void Inductor(string name, string a, string b, Law henries) => inner.Inductor(name, a, b, henries);

    public void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null)
    {
        if (!isShunt)
        {
            inner.VoltageSource(name, plus, minus, volts, noise);
            return;
        }

        // A follower of its voltage that takes current and gives none.
        string held = name + ".held";
        inner.VoltageSource(name, held, minus, volts, noise);
        inner.OneWayFollower(name + " shunt", held, plus, minus, takes: true);
    }

    public void CurrentSource(string name, string from, string to, Law amperes) => inner.CurrentSource(name, from, to, amperes);

    public void Link(string name, string a, string b) => inner.Link(name, a, b);

    public void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws)
    {
        if (isGone(positiveSupply) || isGone(negativeSupply))
        {
            laws = laws with { BiasPlus = null, BiasMinus = null, Limits = Weaken(name, positiveSupply, negativeSupply, laws.Limits) };
        }

        inner.OpAmp(name, plus, minus, output, positiveSupply, negativeSupply, laws);
    }

    public void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws)
    {
        if (isGone(positiveSupply) || isGone(negativeSupply))
        {
            laws = laws with { BiasPlus = null, BiasMinus = null, Limits = Weaken(name, positiveSupply, negativeSupply, laws.Limits) };
        }

        inner.InstrumentationAmplifier(name, plus, minus, output, reference, positiveSupply, negativeSupply, laws);
    }

    public void IsolationAmplifier(string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws) =>
        inner.IsolationAmplifier(name, plus, minus, outputPlus, outputMinus, laws);

    public void Diode(string name, string anode, string cathode, DiodeLaws laws) => inner.Diode(name, anode, cathode, laws);

    public void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws) =>
        inner.Bipolar(name, collector, @base, emitter, isNpn, laws);

    private AmplifierLimits Weaken(string name, string positive, string negative, AmplifierLimits limits)
    {
        double volts = Math.Abs(statedVolts(positive) - statedVolts(negative));
        if (limits.SupplyCurrent is { } supply && volts > 0)
        {
            inner.Resistor(name + " supply current", positive, negative, s => supply(s) is > 0 and var amperes ? volts / amperes : Fault.OpenOhms);
        }

        return limits with { SupplyCurrent = null };
    }
}
