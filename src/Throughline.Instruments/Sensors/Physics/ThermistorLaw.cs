namespace Throughline.Instruments.Physics;

/// <summary>
/// Resistance of a negative-temperature-coefficient thermistor: 1/T = a₀ + a₁ L + a₂ L² + a₃ L³ with L = ln(R / R_ref). The three forms in use are this
/// one polynomial: beta (a₀ = 1/T₀, a₁ = 1/β), Steinhart and Hart (R_ref = 1 Ω, a₂ = 0) and the makers' four terms (R_ref = R₂₅).
/// </summary>
public sealed class ThermistorLaw
{
    private readonly double _a0;
    private readonly double _a1;
    private readonly double _a2;
    private readonly double _a3;

    private ThermistorLaw(double referenceOhms, double a0, double a1, double a2, double a3)
    {
        ReferenceOhms = referenceOhms;
        (_a0, _a1, _a2, _a3) = (a0, a1, a2, a3);
    }

    /// <summary>R_ref, Ω.</summary>
    public double ReferenceOhms { get; }

    /// <summary>1/T = 1/T₀ + ln(R/R₀)/β.</summary>
    /// <param name="ohms">R₀, Ω.</param>
    /// <param name="celsius">The temperature of R₀, °C.</param>
    /// <param name="beta">β, K.</param>
    public static ThermistorLaw FromBeta(double ohms, double celsius, double beta) =>
        new(ohms, 1 / (celsius + Nernst.ZeroCelsius), 1 / beta, 0, 0);

    /// <summary>1/T = a + b ln(R/Ω) + c ln(R/Ω)³, Steinhart and Hart, Deep-Sea Research 15 (1968) 497.</summary>
    public static ThermistorLaw FromSteinhartHart(double a, double b, double c) => new(1, a, b, 0, c);

    /// <summary>1/T = a + b L + c L² + d L³ with L = ln(R/R₂₅).</summary>
    public static ThermistorLaw FromFourTerms(double ohmsAt25, double a, double b, double c, double d) => new(ohmsAt25, a, b, c, d);

    /// <summary>The Steinhart–Hart law through three points.</summary>
    /// <exception cref="ArgumentException">Two of the points are the same.</exception>
    public static ThermistorLaw ThroughThreePoints((double Celsius, double Ohms) first, (double Celsius, double Ohms) second, (double Celsius, double Ohms) third)
    {
        double l1 = Math.Log(first.Ohms), l2 = Math.Log(second.Ohms), l3 = Math.Log(third.Ohms);
        double y1 = 1 / (first.Celsius + Nernst.ZeroCelsius), y2 = 1 / (second.Celsius + Nernst.ZeroCelsius), y3 = 1 / (third.Celsius + Nernst.ZeroCelsius);
        double g2 = (y2 - y1) / (l2 - l1), g3 = (y3 - y1) / (l3 - l1);
        double c = (g3 - g2) / (l3 - l2) / (l1 + l2 + l3);
        double b = g2 - c * (l1 * l1 + l1 * l2 + l2 * l2);
        double a = y1 - l1 * (b + l1 * l1 * c);
        return double.IsFinite(a + b + c) ? new(1, a, b, 0, c) : throw new ArgumentException("Three different points make a curve.", nameof(third));
    }

    /// <summary>The temperature of a resistance, °C; NaN when it is not positive, or where the polynomial gives no temperature above absolute zero.</summary>
    public double Celsius(double ohms)
    {
        if (!(ohms > 0))
        {
            return double.NaN;
        }

        double reciprocal = Reciprocal(Math.Log(ohms / ReferenceOhms));
        return reciprocal > 0 ? 1 / reciprocal - Nernst.ZeroCelsius : double.NaN;
    }

    /// <summary>The resistance at a temperature, Ω; NaN at and below absolute zero, or where no resistance within e^±40 of R_ref gives it.</summary>
    public double Ohms(double celsius)
    {
        double kelvin = celsius + Nernst.ZeroCelsius;
        if (!(kelvin > 0))
        {
            return double.NaN;
        }

        double wanted = 1 / kelvin;
        double l = (wanted - _a0) / _a1;
        if (_a2 == 0 && _a3 == 0)
        {
            return ReferenceOhms * Math.Exp(l);
        }

        // 1/T rises with L in every part that exists, so bisection's bracket always holds and Newton's steps are kept inside it.
        double low = -40, high = 40;
        l = Math.Clamp(l, low, high);
        for (int i = 0; i < 100; i++)
        {
            double miss = Reciprocal(l) - wanted;
            if (miss > 0)
            {
                high = l;
            }
            else
            {
                low = l;
            }

            double next = l - miss / (_a1 + l * (2 * _a2 + l * 3 * _a3));
            if (!(next > low && next < high))
            {
                next = (low + high) / 2;
            }

            if (Math.Abs(next - l) <= 1e-15 * Math.Max(1, Math.Abs(l)))
            {
                l = next;
                break;
            }

            l = next;
        }

        return Math.Abs(Reciprocal(l) - wanted) <= 1e-9 * wanted ? ReferenceOhms * Math.Exp(l) : double.NaN;
    }

    private double Reciprocal(double l) => _a0 + l * (_a1 + l * (_a2 + l * _a3));
}
