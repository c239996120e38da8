namespace Throughline.Instruments.Physics;

/// <summary>What an input does to a source of high resistance. Ohm's law, kept in one place because every check of an electrode's input is made of it.</summary>
public static class ElectrodeInput
{
    /// <summary>Voltage that a bias or leakage current makes over the source, V.</summary>
    public static double BiasError(double biasAmperes, double sourceOhms) => biasAmperes * sourceOhms;

    /// <summary>Part of the signal lost by loading, a ratio from 0 to 1: Rs / (Rs + Rin).</summary>
    public static double LoadingError(double sourceOhms, double inputOhms) => sourceOhms / (sourceOhms + inputOhms);

    /// <summary>Greatest source resistance at which a current alone stays within an error, Ω.</summary>
    public static double LargestSource(double errorVolts, double biasAmperes) => errorVolts / biasAmperes;

    /// <summary>Current over an insulation, A.</summary>
    public static double LeakageCurrent(double volts, double insulationOhms) => volts / insulationOhms;

    /// <summary>Corner frequency of the source or a series resistor with the capacitance behind it, Hz: 1 / (2π R C).</summary>
    public static double CornerFrequency(double ohms, double farads) => 1 / (2 * Math.PI * ohms * farads);
}
