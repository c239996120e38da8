namespace Throughline.Instruments.Physics;

/// <summary>Resistance of copper conductors.</summary>
public static class CopperWire
{
    /// <summary>Resistivity used for cores of cables, Ω mm²/m at 20 °C (common practice; soft copper itself is 0.01724).</summary>
    public const double Resistivity = 0.0175;

    /// <summary>Temperature coefficient of resistance at 20 °C, 1/K, for cables of sensors (common practice).</summary>
    public const double CoefficientAt20 = 0.00393;

    // IEC 60228:2004, maximum resistance of plain copper at 20 °C, Ω/km, of classes 1 and 2 (table 1 and 2) and 5 and 6 (tables 3 and 4).
    private static readonly (double SquareMillimetres, double Solid, double Flexible)[] Table =
    [
        (0.5, 36.0, 39.0), (0.75, 24.5, 26.0), (1.0, 18.1, 19.5), (1.5, 12.1, 13.3), (2.5, 7.41, 7.98),
        (4, 4.61, 4.95), (6, 3.08, 3.30), (10, 1.83, 1.91), (16, 1.15, 1.21),
    ];

    /// <summary>Cross sections of <see cref="MaximumPerMetre"/>, mm².</summary>
    public static IEnumerable<double> StandardSections => Table.Select(row => row.SquareMillimetres);

    /// <summary>Resistance of one core by its geometry, Ω.</summary>
    /// <param name="metres">Length, m.</param>
    /// <param name="squareMillimetres">Cross section, mm².</param>
    public static double Resistance(double metres, double squareMillimetres) => Resistivity * metres / squareMillimetres;

    /// <summary>Greatest resistance that IEC 60228 allows a plain copper conductor at 20 °C, Ω/m.</summary>
    /// <param name="squareMillimetres">A cross section of the table, mm².</param>
    /// <param name="flexible">Classes 5 and 6 instead of 1 and 2.</param>
    /// <returns>NaN when the table has no such cross section.</returns>
    public static double MaximumPerMetre(double squareMillimetres, bool flexible)
    {
        foreach ((double section, double solid, double bendable) in Table)
        {
            if (section == squareMillimetres)
            {
                return (flexible ? bendable : solid) / 1000;
            }
        }

        return double.NaN;
    }

    /// <summary>The cross section of the table that a figure means, mm²; NaN when the table has none within a millionth.</summary>
    public static double NearestSection(double squareMillimetres)
    {
        foreach (double section in StandardSections)
        {
            if (Math.Abs(section - squareMillimetres) <= 1e-6 * section)
            {
                return section;
            }
        }

        return double.NaN;
    }

    /// <summary>Resistance over that at 20 °C: (234.5 + t) / 254.5, the relation for annealed copper; NaN below −234.5 °C.</summary>
    public static double TemperatureFactor(double celsius) => celsius >= -234.5 ? (234.5 + celsius) / 254.5 : double.NaN;
}
