namespace Throughline.Papers;

/// <summary>Graphic symbols of IEC 60617, and a box for what has none.</summary>
public enum CircuitSymbol
{
    Box,
    Resistor,
    AdjustableResistor,

    /// <summary>A resistor with a movable contact that has a node of its own.</summary>
    Potentiometer,
    Capacitor,
    Inductor,
    Leakage,
    Diode,
    Zener,
    VoltageSource,
    CurrentSource,
    Contact,
    Amplifier,
    Transistor,
}
