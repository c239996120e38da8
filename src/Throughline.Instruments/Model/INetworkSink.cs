namespace Throughline.Instruments;

/// <summary>
/// Takes the elements that parts and sensors consist of. A part says here what it is made of; how a network is solved is not its business.
/// Node names are those of the file; a part's inner nodes are its name, a dot and a word. Every law is in SI units.
/// </summary>
public interface INetworkSink
{
    void Resistor(string name, string a, string b, Law ohms);

    /// <summary>Open at direct current.</summary>
    void Capacitor(string name, string a, string b, Law farads);

    /// <summary>A short at direct current.</summary>
    void Inductor(string name, string a, string b, Law henries);

    /// <summary>Ideal source: the voltage of <paramref name="plus"/> above <paramref name="minus"/>.</summary>
    /// <param name="noise">Its noise; null is none, and a current of it is not used.</param>
    void VoltageSource(string name, string plus, string minus, Law volts, NoiseLaws? noise = null);

    /// <summary>Ideal source: current out of <paramref name="to"/> into the network, drawn from <paramref name="from"/>.</summary>
    void CurrentSource(string name, string from, string to, Law amperes);

    /// <summary>Two nodes made one.</summary>
    void Link(string name, string a, string b);

    void OpAmp(string name, string plus, string minus, string output, string positiveSupply, string negativeSupply, OpAmpLaws laws);

    void InstrumentationAmplifier(
        string name, string plus, string minus, string output, string reference, string positiveSupply, string negativeSupply, InstrumentationAmplifierLaws laws);

    /// <summary>The output pair belongs to another island than the input pair; no current crosses.</summary>
    void IsolationAmplifier(
        string name, string plus, string minus, string outputPlus, string outputMinus, IsolationAmplifierLaws laws);

    void Diode(string name, string anode, string cathode, DiodeLaws laws);

    void Bipolar(string name, string collector, string @base, string emitter, bool isNpn, BipolarLaws laws);
}

/// <summary>Laws shared by amplifiers with supply pins. A null law is ideal: no limit, no current, no error.</summary>
public sealed record AmplifierLimits
{
    /// <summary>Least distance of the output below the positive supply, V.</summary>
    public Law? SwingBelowPositive { get; init; }

    /// <summary>Least distance of the output above the negative supply, V.</summary>
    public Law? SwingAboveNegative { get; init; }

    /// <summary>Greatest current out of the output, A.</summary>
    public Law? SourceCurrent { get; init; }

    /// <summary>Greatest current into the output, A.</summary>
    public Law? SinkCurrent { get; init; }

    /// <summary>Least distance of either input below the positive supply for guaranteed operation, V; negative when it may exceed the supply.</summary>
    public Law? InputBelowPositive { get; init; }

    /// <summary>Least distance of either input above the negative supply for guaranteed operation, V; negative when it may go below.</summary>
    public Law? InputAboveNegative { get; init; }

    /// <summary>Supply current without load, A.</summary>
    public Law? SupplyCurrent { get; init; }
}

/// <summary>Null laws are ideal.</summary>
public sealed record OpAmpLaws
{
    /// <summary>Open-loop gain, V/V; null is infinite.</summary>
    public Law? Gain { get; init; }

    /// <summary>Input offset voltage, V.</summary>
    public Law? Offset { get; init; }

    /// <summary>Current into the non-inverting input, A.</summary>
    public Law? BiasPlus { get; init; }

    /// <summary>Current into the inverting input, A.</summary>
    public Law? BiasMinus { get; init; }

    /// <summary>Reciprocal of the common-mode rejection ratio, V/V, about the middle of the supplies.</summary>
    public Law? CommonModeError { get; init; }

    /// <summary>Reciprocal of the supply rejection ratio, V/V, about <see cref="NominalSupply"/>.</summary>
    public Law? SupplyError { get; init; }

    /// <summary>Frequency above which <see cref="SupplyError"/> rises with frequency, Hz; null where it does not.</summary>
    public double? SupplyErrorCorner { get; init; }

    /// <summary>Supply at which the offset is stated, V.</summary>
    public Law? NominalSupply { get; init; }

    /// <summary>Differential input resistance, Ω; null is infinite.</summary>
    public Law? InputResistance { get; init; }

    /// <summary>Open-loop output resistance, Ω.</summary>
    public Law? OutputResistance { get; init; }

    /// <summary>Frequency at which the open-loop gain is 1, Hz; null is infinite.</summary>
    public Law? GainBandwidth { get; init; }

    /// <summary>Greatest rate of the output, V/s; null is infinite.</summary>
    public Law? SlewRate { get; init; }

    /// <summary>Noise at the inputs.</summary>
    public NoiseLaws Noise { get; init; } = new();

    public AmplifierLimits Limits { get; init; } = new();
}

/// <summary>Output = reference + gain × (plus − minus + input offset + errors) + output offset. Null laws are ideal.</summary>
public sealed record InstrumentationAmplifierLaws
{
    /// <summary>Gain with its error, V/V.</summary>
    public required Law Gain { get; init; }

    public Law? InputOffset { get; init; }

    public Law? OutputOffset { get; init; }

    public Law? BiasPlus { get; init; }

    public Law? BiasMinus { get; init; }

    public Law? CommonModeError { get; init; }

    public Law? SupplyError { get; init; }

    /// <summary>As for an op amp, Hz.</summary>
    public double? SupplyErrorCorner { get; init; }

    public Law? NominalSupply { get; init; }

    /// <summary>Bandwidth at the stated gain, Hz; null is infinite.</summary>
    public Law? Bandwidth { get; init; }

    /// <summary>Greatest rate of the output, V/s; null is infinite.</summary>
    public Law? SlewRate { get; init; }

    /// <summary>Noise at the inputs.</summary>
    public NoiseLaws Noise { get; init; } = new();

    public AmplifierLimits Limits { get; init; } = new();
}

/// <summary>Output pair = gain × (input pair + input offset) + output offset. Null laws are ideal.</summary>
public sealed record IsolationAmplifierLaws
{
    public required Law Gain { get; init; }

    public Law? InputOffset { get; init; }

    public Law? OutputOffset { get; init; }

    /// <summary>Resistance between the inputs, Ω; null is infinite.</summary>
    public Law? InputResistance { get; init; }

    /// <summary>Resistance in series with the output, Ω.</summary>
    public Law? OutputResistance { get; init; }

    /// <summary>Least and greatest voltage of the input pair for linear operation, V.</summary>
    public Law? InputLow { get; init; }

    public Law? InputHigh { get; init; }

    /// <summary>Least and greatest voltage of the output pair, V: the output clamps there.</summary>
    public Law? OutputLow { get; init; }

    public Law? OutputHigh { get; init; }

    /// <summary>Bandwidth, Hz; null is infinite.</summary>
    public Law? Bandwidth { get; init; }

    /// <summary>Noise at the input; its current is not used.</summary>
    public NoiseLaws Noise { get; init; } = new();
}

/// <summary>Shockley's law, I = Is (exp(V / n VT) − 1).</summary>
public sealed record DiodeLaws
{
    /// <summary>Saturation current at the unit's temperature, A.</summary>
    public required Law SaturationCurrent { get; init; }

    /// <summary>Emission coefficient n.</summary>
    public required Law Emission { get; init; }

    /// <summary>Series resistance, Ω; null is none.</summary>
    public Law? SeriesResistance { get; init; }

    /// <summary>Reverse voltage at which it conducts backwards, V, positive; null is never.</summary>
    public Law? Breakdown { get; init; }
}

/// <summary>Ebers–Moll in the transport form, with a stated saturation voltage instead of the natural one where there is one.</summary>
public sealed record BipolarLaws
{
    public required Law SaturationCurrent { get; init; }

    /// <summary>Forward current gain.</summary>
    public required Law ForwardGain { get; init; }

    /// <summary>Reverse current gain.</summary>
    public required Law ReverseGain { get; init; }

    /// <summary>Collector–emitter voltage below which it no longer controls its current, V; null leaves it to the equations.</summary>
    public Law? SaturationVoltage { get; init; }
}

/// <summary>Noise of an amplifier: white above a corner, rising as 1/f in power below it. Null laws are none.</summary>
public sealed record NoiseLaws
{
    /// <summary>V/√Hz.</summary>
    public Law? Voltage { get; init; }

    /// <summary>Hz.</summary>
    public Law? Corner { get; init; }

    /// <summary>A/√Hz at each input, independent of each other.</summary>
    public Law? Current { get; init; }
}
