namespace Throughline.Circuits;

/// <summary>Slots of an op amp, in order. All voltages in V, currents in A, resistances in Ω, errors in V/V.</summary>
public enum OpAmpSlot
{
    /// <summary>Open-loop gain, more than 0; +∞ is ideal.</summary>
    Gain,

    /// <summary>Adds to the input difference.</summary>
    Offset,

    /// <summary>Current into the pin; it leaves by the negative supply.</summary>
    BiasPlus,
    BiasMinus,

    /// <summary>Reciprocal of the common-mode rejection ratio, about the middle of the supplies.</summary>
    CommonModeError,

    /// <summary>Reciprocal of the supply rejection ratio, about <see cref="NominalSupply"/>.</summary>
    SupplyError,
    NominalSupply,

    /// <summary>Between the inputs; +∞ is none.</summary>
    InputResistance,
    OutputResistance,
    SwingBelowPositive,
    SwingAboveNegative,
    SourceCurrent,
    SinkCurrent,

    /// <summary>For checks of headroom only: moves nothing in the solution.</summary>
    InputBelowPositive,

    /// <summary>For checks of headroom only: moves nothing in the solution.</summary>
    InputAboveNegative,
    SupplyCurrent,

    /// <summary>Frequency at which the open-loop gain is 1, Hz: one dominant pole. +∞ is none.</summary>
    GainBandwidth,

    /// <summary>Greatest rate of the output, V/s.</summary>
    SlewRate,

    /// <summary>V/√Hz at the input, well above the corner.</summary>
    Noise,

    /// <summary>Frequency at which the 1/f part equals the white one, Hz.</summary>
    NoiseCorner,

    /// <summary>A/√Hz at each input, independent of each other.</summary>
    NoiseCurrent,
    NoiseCurrentCorner,
}

/// <summary>Slots of an instrumentation amplifier, in order.</summary>
public enum InstrumentationAmplifierSlot
{
    Gain,
    InputOffset,
    OutputOffset,
    BiasPlus,
    BiasMinus,
    CommonModeError,
    SupplyError,
    NominalSupply,
    SwingBelowPositive,
    SwingAboveNegative,
    SourceCurrent,
    SinkCurrent,

    /// <summary>For checks of headroom only: moves nothing in the solution.</summary>
    InputBelowPositive,

    /// <summary>For checks of headroom only: moves nothing in the solution.</summary>
    InputAboveNegative,
    SupplyCurrent,

    /// <summary>−3 dB bandwidth at the stated gain, Hz.</summary>
    Bandwidth,

    /// <summary>Greatest rate of the output, V/s.</summary>
    SlewRate,

    /// <summary>V/√Hz, multiplied by the gain.</summary>
    InputNoise,
    InputNoiseCorner,

    /// <summary>A/√Hz at each input, independent of each other.</summary>
    NoiseCurrent,
    NoiseCurrentCorner,

    /// <summary>V/√Hz, not multiplied by the gain.</summary>
    OutputNoise,
}

/// <summary>Slots of an isolation amplifier, in order.</summary>
public enum IsolationAmplifierSlot
{
    Gain,
    InputOffset,
    OutputOffset,
    InputResistance,
    OutputResistance,

    /// <summary>For checks of range only: moves nothing in the solution.</summary>
    InputLow,

    /// <summary>For checks of range only: moves nothing in the solution.</summary>
    InputHigh,

    /// <summary>Limits of the output pair before its resistance.</summary>
    OutputLow,
    OutputHigh,

    /// <summary>−3 dB bandwidth, Hz.</summary>
    Bandwidth,

    /// <summary>V/√Hz at the input.</summary>
    InputNoise,
    InputNoiseCorner,
}

/// <summary>Slots of a diode, in order.</summary>
public enum DiodeSlot
{
    SaturationCurrent,
    Emission,
    SeriesResistance,

    /// <summary>Reverse voltage at a reverse current of 1 mA; +∞ is none.</summary>
    Breakdown,
}

/// <summary>Slots of a bipolar transistor, in order.</summary>
public enum BipolarSlot
{
    SaturationCurrent,
    ForwardGain,
    ReverseGain,

    /// <summary>Collector–emitter voltage, in magnitude, that the transistor keeps; 0 leaves it to the equations.</summary>
    SaturationVoltage,
}

/// <summary>Slots of a voltage or current source, in order.</summary>
public enum SourceSlot
{
    /// <summary>V or A.</summary>
    Value,

    /// <summary>V/√Hz or A/√Hz, well above the corner.</summary>
    Noise,

    /// <summary>Frequency at which the 1/f part equals the white one, Hz.</summary>
    NoiseCorner,
}

/// <summary>Slots of a zener diode, in order.</summary>
public enum ZenerSlot
{
    /// <summary>Reverse voltage at the test current, V.</summary>
    Voltage,

    /// <summary>A, above 0.</summary>
    TestCurrent,

    /// <summary>Slope of the reverse voltage at the test current, Ω; never less than the junction's own, VT over the test current.</summary>
    SlopeResistance,
    SaturationCurrent,
}

/// <summary>Slots of a field-effect transistor, in order.</summary>
public enum FieldEffectSlot
{
    /// <summary>vGS at which conduction begins, V, for an n-channel; a p-channel counts it turned round. Negative for a depletion type.</summary>
    Threshold,

    /// <summary>k of I = k (vGS − Vth)², A/V².</summary>
    Factor,

    /// <summary>λ, 1/V.</summary>
    Modulation,
}
