namespace Throughline.Instruments.Physics;

/// <summary>The slope of an electrode that follows Nernst's law.</summary>
public static class Nernst
{
    /// <summary>Molar gas constant, J/(mol K). Exact in the SI since 2019 (CODATA 2018 and 2022).</summary>
    public const double GasConstant = 8.31446261815324;

    /// <summary>Faraday constant, C/mol. Exact in the SI since 2019 (CODATA 2018 and 2022).</summary>
    public const double Faraday = 96485.33212331001;

    /// <summary>0 °C in kelvin.</summary>
    public const double ZeroCelsius = 273.15;

    /// <summary>Slope k(T) = ln 10 · R T / F, in volt per decade of activity (per pH) of an ion of charge one.</summary>
    /// <param name="celsius">°C.</param>
    /// <returns>V, positive; NaN at and below absolute zero.</returns>
    public static double Slope(double celsius)
    {
        double kelvin = celsius + ZeroCelsius;
        return kelvin > 0 ? Ln10 * GasConstant / Faraday * kelvin : double.NaN;
    }

    private const double Ln10 = 2.302585092994045684;
}
