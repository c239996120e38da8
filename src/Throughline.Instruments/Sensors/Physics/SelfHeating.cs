namespace Throughline.Instruments.Physics;

/// <summary>Rise of a resistive sensor above what it measures, by the current that measures it.</summary>
public static class SelfHeating
{
    /// <summary>I² R · Rth, K.</summary>
    /// <param name="amperes">Measuring current, A.</param>
    /// <param name="ohms">Resistance of the sensor, Ω.</param>
    /// <param name="kelvinPerWatt">Thermal resistance from the element to what it measures, K/W.</param>
    public static double Rise(double amperes, double ohms, double kelvinPerWatt) => amperes * amperes * ohms * kelvinPerWatt;
}
