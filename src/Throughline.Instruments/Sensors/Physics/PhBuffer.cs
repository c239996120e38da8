using System.Collections.Immutable;

namespace Throughline.Instruments.Physics;

/// <summary>Where a buffer's values come from: the same label means slightly different pH in different families.</summary>
public enum BufferFamily
{
    /// <summary>Primary standards after IUPAC 2002 (Buck et al., Pure Appl. Chem. 74, 2169): phthalate 4.005 at 25 °C.</summary>
    Iupac,

    /// <summary>The phthalate value of DIN 19266, 4.008 at 25 °C.</summary>
    Din19266,

    /// <summary>Phthalate by Hamer, Pinching and Acree, J. Res. NBS RP1690 (1946).</summary>
    Nbs1946,

    /// <summary>Phthalate by Hetzer, Durst, Robinson and Bates, J. Res. NBS 81A (1977).</summary>
    Nbs1977,

    /// <summary>Technical buffers 4.00, 7.00 and 10.01, true to their labels at 25 °C.</summary>
    Technical25,

    /// <summary>Technical buffer 7.01 at 25 °C.</summary>
    Technical701,

    /// <summary>Technical buffers 4.00, 7.00 and 9.00, true to their labels at 20 °C.</summary>
    Technical20,
}

/// <summary>
/// A pH buffer and its pH against temperature: by the closed form pH = A/T + B + C T + D T² (T in K) where one is known, else by a published table with
/// straight lines between its points. Immutable.
/// </summary>
/// <remarks>
/// The closed forms are from memory; they give the published three-decimal table to its last digit at every temperature in it, except phthalate 4.005,
/// whose coefficients are a least-squares fit to that table. The check is in the tests.
/// </remarks>
public sealed class PhBuffer
{
    private readonly (double A, double B, double C, double D, double Zero)? _form;
    private readonly PiecewiseLinear? _table;

    private PhBuffer(
        BufferFamily family, string name, double label, double low, double high, double a, double b, double c, double d, double zero = Nernst.ZeroCelsius)
        : this(family, name, label, low, high) => _form = (a, b, c, d, zero);

    private PhBuffer(BufferFamily family, string name, double label, params (double Celsius, double Ph)[] table)
        : this(family, name, label, table[0].Celsius, table[^1].Celsius) => _table = new PiecewiseLinear(table);

    private PhBuffer(BufferFamily family, string name, double label, double low, double high) =>
        (Family, Name, Label, LowestCelsius, HighestCelsius) = (family, name, label, low, high);

    public BufferFamily Family { get; }

    /// <summary>What is in it, such as <c>phthalate</c>; <c>technical</c> for technical buffers.</summary>
    public string Name { get; }

    /// <summary>The pH on its label.</summary>
    public double Label { get; }

    /// <summary>Ends of the temperatures for which values are known, °C.</summary>
    public double LowestCelsius { get; }

    public double HighestCelsius { get; }

    /// <summary>pH at a temperature; NaN outside <see cref="LowestCelsius"/> to <see cref="HighestCelsius"/>.</summary>
    public double Ph(double celsius)
    {
        if (!(celsius >= LowestCelsius && celsius <= HighestCelsius))
        {
            return double.NaN;
        }

        if (_form is var (a, b, c, d, zero))
        {
            double kelvin = celsius + zero;
            return a / kelvin + b + kelvin * (c + kelvin * d);
        }

        return _table!.Y(celsius);
    }

    /// <summary>The buffer of a family by the label that a user reads on the bottle, null when none is within 0.02 of it.</summary>
    public static PhBuffer? Find(BufferFamily family, double label) =>
        All.Where(b => b.Family == family && Math.Abs(b.Label - label) <= 0.02).MinBy(b => Math.Abs(b.Label - label));

    /// <summary>The buffer that a label most likely means when no family is named: exactly a technical label, else a primary standard within 0.02.</summary>
    public static PhBuffer? Find(double label) =>
        All.FirstOrDefault(b => b.Family is BufferFamily.Technical25 or BufferFamily.Technical701 && Math.Abs(b.Label - label) < 1e-9)
        ?? Find(BufferFamily.Iupac, label);

    /// <summary>Every known buffer.</summary>
    public static ImmutableArray<PhBuffer> All { get; } =
    [
        new(BufferFamily.Iupac, "tetroxalate", 1.68, 0, 95, -362.76, 6.1765, -0.018710, 2.58470e-05),
        new(BufferFamily.Iupac, "tartrate", 3.56, 25, 95, -1727.96, 23.7406, -0.075947, 9.28730e-05),
        new(BufferFamily.Iupac, "citrate", 3.78, 0, 50, 1280.4, -4.165, 0.012230, 0),
        new(BufferFamily.Iupac, "phthalate", 4.005, 0, 95, -8.568, 6.692716, -0.018744533, 3.2955323e-05),
        new(BufferFamily.Iupac, "phosphate", 6.865, 0, 95, 3459.39, -21.0574, 0.073301, -6.22660e-05),
        new(BufferFamily.Iupac, "phosphate", 7.413, 0, 50, 5706.61, -43.9428, 0.154785, -1.56745e-04),
        new(BufferFamily.Iupac, "borax", 9.18, 0, 95, 5259.02, -33.1064, 0.114826, -1.07860e-04),
        new(BufferFamily.Iupac, "carbonate", 10.012, 0, 50, 2557.1, -4.2846, 0.019185, 0),
        new(BufferFamily.Iupac, "calcium hydroxide", 12.454, 0, 60, 7613.65, -38.5892, 0.119217, -1.12918e-04),
        new(BufferFamily.Din19266, "phthalate", 4.008, 0, 95, 1678.3, -9.8357, 0.034946, -2.48040e-05),
        new(BufferFamily.Nbs1946, "phthalate", 4.00, 0, 60, 1336.08, -5.2678, 0.016069, 0, zero: 273.16),
        new(BufferFamily.Nbs1977, "phthalate", 4.01, 0, 60, 2073.44, -13.3270, 0.045199, -3.4846e-5),
        new(
            BufferFamily.Technical25, "technical", 4.00,
            (0, 4.00), (5, 4.00), (10, 4.00), (15, 4.00), (20, 4.00), (25, 4.00), (30, 4.01), (35, 4.02), (40, 4.03), (45, 4.04), (50, 4.06)),
        new(
            BufferFamily.Technical25, "technical", 7.00,
            (0, 7.118), (5, 7.087), (10, 7.059), (15, 7.036), (18, 7.024), (19, 7.020), (20, 7.016), (21, 7.013), (22, 7.009), (23, 7.006), (24, 7.003),
            (25, 7.000), (26, 6.997), (27, 6.994), (28, 6.992), (29, 6.989), (30, 6.987), (35, 6.977), (37, 6.974), (40, 6.970), (45, 6.965), (50, 6.964),
            (55, 6.965), (60, 6.968), (65, 6.974), (70, 6.982), (75, 6.992), (80, 7.004), (85, 7.018), (90, 7.034), (95, 7.052)),
        new(BufferFamily.Technical25, "carbonate", 10.01, 0, 50, 2557.1, -4.2846, 0.019185, 0),
        new(
            BufferFamily.Technical701, "technical", 7.01,
            (0, 7.13), (5, 7.10), (10, 7.07), (15, 7.05), (20, 7.03), (25, 7.01), (30, 7.00), (35, 6.99), (40, 6.98), (45, 6.98), (50, 6.98), (55, 6.98),
            (60, 6.98), (65, 6.99), (70, 6.99), (75, 7.00), (80, 7.01), (85, 7.02), (90, 7.03), (95, 7.04)),
        new(
            BufferFamily.Technical20, "technical", 4.00,
            (0, 4.03), (10, 4.02), (20, 4.00), (30, 4.00), (40, 4.00), (50, 4.00), (60, 4.00), (70, 4.00), (80, 4.00), (90, 4.00)),
        new(
            BufferFamily.Technical20, "technical", 7.00,
            (0, 7.13), (10, 7.05), (20, 7.00), (30, 6.98), (40, 6.97), (50, 6.96), (60, 6.96), (70, 6.97), (80, 6.98), (90, 7.00)),
        new(
            BufferFamily.Technical20, "technical", 9.00,
            (0, 9.24), (10, 9.11), (20, 9.00), (30, 8.93), (40, 8.86), (50, 8.80), (60, 8.75), (70, 8.71), (80, 8.67), (90, 8.64)),
    ];
}
