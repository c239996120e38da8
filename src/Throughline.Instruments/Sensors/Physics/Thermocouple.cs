using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Instruments.Physics;

/// <summary>
/// The reference function of a thermocouple type, IEC 60584-1:2013 (the functions of ITS-90 in NIST Monograph 175): emf against temperature with the
/// other junction at 0 °C, and back. Immutable and safe for any number of threads.
/// </summary>
public sealed class Thermocouple
{
    private readonly ImmutableArray<Segment> _direct;
    private readonly ImmutableArray<Segment> _inverse;
    private readonly double _lowestEmf;
    private readonly double _highestEmf;

    private Thermocouple(char type, ImmutableArray<Segment> direct, ImmutableArray<Segment> inverse)
    {
        Type = type;
        _direct = direct;
        _inverse = inverse;
        LowestCelsius = direct[0].Low;
        HighestCelsius = direct[^1].High;

        // Below 42.1 °C type B gives every emf twice or not at all, so a temperature follows from its emf only above that.
        LowestInvertible = type == 'B' ? ZeroOfTypeB : LowestCelsius;

        // Near an end rounding may put a temperature's emf beyond that of the end.
        _lowestEmf = Emf(LowestInvertible) - (SegmentAt(direct, LowestInvertible).Rounding(LowestInvertible) / 1000);
        _highestEmf = Emf(HighestCelsius) + (SegmentAt(direct, HighestCelsius).Rounding(HighestCelsius) / 1000);
    }

    /// <summary>The types B, E, J, K, N, R, S and T by letter.</summary>
    public static FrozenDictionary<char, Thermocouple> ByType { get; } = Read().ToFrozenDictionary(t => t.Type);

    /// <summary>The letter of the type.</summary>
    public char Type { get; }

    /// <summary>Ends of the range of the reference function, °C.</summary>
    public double LowestCelsius { get; }

    public double HighestCelsius { get; }

    /// <summary>Least temperature that an emf tells, °C: the start of the range, but 42.1 °C for type B, whose emf falls and rises again below.</summary>
    public double LowestInvertible { get; }

    /// <summary>The temperature above 0 °C at which type B gives 0 V again, °C: the root of its reference function, rounded up.</summary>
    private const double ZeroOfTypeB = 42.2;

    /// <summary>Emf with the other junction at 0 °C, V; NaN outside the range.</summary>
    public double Emf(double celsius) => Millivolts(celsius) / 1000;

    /// <summary>dE/dt, V/K; NaN outside the range.</summary>
    public double Sensitivity(double celsius) =>
        celsius >= LowestCelsius && celsius <= HighestCelsius ? SegmentAt(_direct, celsius).Slope(celsius) / 1000 : double.NaN;

    /// <summary>
    /// The temperature of an emf whose other junction is at 0 °C, °C: the reference function solved by Newton's method from the inverse polynomial,
    /// inside a bracket that shrinks, so that it agrees with <see cref="Emf"/> and not only within the inverse polynomial's error.
    /// NaN outside the emf of <see cref="LowestInvertible"/> to <see cref="HighestCelsius"/>.
    /// </summary>
    public double Celsius(double volts)
    {
        double millivolts = volts * 1000;
        if (!(volts >= _lowestEmf && volts <= _highestEmf))
        {
            return double.NaN;
        }

        double low = LowestInvertible, high = HighestCelsius;
        double t = InversePolynomial(volts);
        if (!(t >= low && t <= high))
        {
            t = double.IsNaN(t) && millivolts < 0 ? (low + Math.Min(0, high)) / 2 : Math.Clamp(double.IsNaN(t) ? 150 : t, low, high);
        }

        for (int i = 0; i < 200; i++)
        {
            Segment segment = SegmentAt(_direct, t);
            double miss = segment.Value(t) - millivolts;
            if (miss > 0)
            {
                high = t;
            }
            else
            {
                low = t;
            }

            double next = t - miss / segment.Slope(t);
            if (!(next >= low && next <= high))
            {
                next = (low + high) / 2;
            }

            double step = next - t;
            t = next;
            if (Math.Abs(step) <= 1e-13 * (1 + Math.Abs(t)))
            {
                break;
            }
        }

        return t;
    }

    /// <summary>The published inverse polynomials from the lowest emf up; those of R and S overlap.</summary>
    public ImmutableArray<ThermocoupleInverse> Inverses => [.. _inverse.Select(s => new ThermocoupleInverse(s.Low / 1000, s.High / 1000, [.. s.Coefficients]))];

    /// <summary>The temperature by the published inverse polynomial, °C, with its published error of some hundredths of a kelvin; NaN where none is
    /// published. Where two pieces overlap (R, S) the lower one is taken up to its end.</summary>
    public double InversePolynomial(double volts)
    {
        double millivolts = volts * 1000;
        foreach (Segment segment in _inverse)
        {
            // The ends of the pieces are printed to 1 µV.
            if (millivolts >= segment.Low - 0.001 && millivolts <= segment.High + 0.001)
            {
                return segment.Value(millivolts);
            }
        }

        return double.NaN;
    }

    private double Millivolts(double celsius) =>
        celsius >= LowestCelsius && celsius <= HighestCelsius ? SegmentAt(_direct, celsius).Value(celsius) : double.NaN;

    // Pieces join within 0.1 nV, so which of two owns the joint does not matter.
    private static Segment SegmentAt(ImmutableArray<Segment> segments, double x)
    {
        int i = 0;
        while (i < segments.Length - 1 && x > segments[i].High)
        {
            i++;
        }

        return segments[i];
    }

    private static IEnumerable<Thermocouple> Read()
    {
        using Stream stream = typeof(Thermocouple).Assembly.GetManifestResourceStream("its90-thermocouples.csv")!;
        using StreamReader reader = new(stream);
        List<(char Type, string Direction, double Low, double High, double Coefficient)> rows = [];
        reader.ReadLine();
        while (reader.ReadLine() is string line)
        {
            string[] cells = line.Split(',');
            rows.Add((cells[0][0], cells[1], Number(cells[2]), Number(cells[3]), Number(cells[5])));
        }

        foreach (var type in rows.GroupBy(r => r.Type))
        {
            double[] exponential = [.. type.Where(r => r.Direction == "direct_exp").Select(r => r.Coefficient)];
            ImmutableArray<Segment> Segments(string direction) =>
            [
                .. type.Where(r => r.Direction == direction)
                    .GroupBy(r => (r.Low, r.High))
                    .Select(g => new Segment(
                        g.Key.Low, g.Key.High, [.. g.Select(r => r.Coefficient)], direction == "direct" && g.Key.Low == 0 ? exponential : []))
                    .OrderBy(s => s.Low),
            ];
            yield return new Thermocouple(type.Key, Segments("direct"), Segments("inverse"));
        }

        static double Number(string cell) => double.Parse(cell, NumberStyles.Float, CultureInfo.InvariantCulture);
    }

    /// <summary>One polynomial and where it holds; in °C and mV, the units of the published coefficients. Type K adds a bell curve above 0 °C:
    /// a₀ exp(a₁ (t − a₂)²).</summary>
    private sealed record Segment(double Low, double High, double[] Coefficients, double[] Exponential)
    {
        public double Value(double x)
        {
            double sum = 0;
            for (int i = Coefficients.Length - 1; i >= 0; i--)
            {
                sum = sum * x + Coefficients[i];
            }

            return Exponential.Length == 0 ? sum : sum + Bell(x);
        }

        /// <summary>What <see cref="Value"/> may be wrong by: 2n u Σ|cᵢ xⁱ| for Horner's rule of degree n (Higham: Accuracy and Stability of Numerical Algorithms, 2002, section 5.1, from memory).</summary>
        public double Rounding(double x)
        {
            double sum = 0;
            for (int i = Coefficients.Length - 1; i >= 0; i--)
            {
                sum = (sum * Math.Abs(x)) + Math.Abs(Coefficients[i]);
            }

            return 2 * Coefficients.Length * Math.ScaleB(1, -53) * sum;
        }

        public double Slope(double x)
        {
            double sum = 0;
            for (int i = Coefficients.Length - 1; i >= 1; i--)
            {
                sum = sum * x + i * Coefficients[i];
            }

            return Exponential.Length == 0 ? sum : sum + 2 * Exponential[1] * (x - Exponential[2]) * Bell(x);
        }

        private double Bell(double x) => Exponential[0] * Math.Exp(Exponential[1] * (x - Exponential[2]) * (x - Exponential[2]));
    }
}
