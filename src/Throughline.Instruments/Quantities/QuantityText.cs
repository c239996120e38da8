using System.Globalization;
using System.Text;

namespace Throughline.Instruments;

/// <summary>Writes quantities as on a drawing, so that they are read back as they were.</summary>
public static class QuantityText
{
    /// <summary>A value with its unit and the prefix that leaves one to three digits before the point, such as <c>4.7 kΩ</c>.</summary>
    /// <param name="value">In the dimension's own unit.</param>
    public static string Format(double value, Dimension dimension)
    {
        string unit = UnitOf(dimension);
        if (value == 0 || !double.IsFinite(value) || !TakesPrefix(dimension))
        {
            return Join(Number(value), unit);
        }

        if (dimension == Dimension.Mass)
        {
            unit = "g";
        }

        (string digits, int exponent) = Decompose(dimension == Dimension.Mass ? value * 1000 : value);
        int engineering = (int)Math.Floor(exponent / 3.0) * 3;
        string prefixes = Prefixes(dimension);
        while (engineering != 0 && !prefixes.Contains(Prefix(engineering)))
        {
            engineering += engineering < 0 ? 3 : -3;
        }

        // Beyond the prefixes a power of ten reads better than a row of zeros.
        if (Math.Abs(exponent - engineering) > 6)
        {
            return Join(Number(value), UnitOf(dimension));
        }

        string sign = value < 0 ? "\u2212" : "";
        string prefix = engineering == 0 ? "" : Prefix(engineering).ToString().Replace('u', '\u00B5');
        string text = sign + Place(digits, exponent - engineering) + " " + prefix + unit;
        return ReadsAs(text, value, dimension) ? text : Join(Number(value), UnitOf(dimension));
    }

    /// <summary>The value, its tolerance and its drift; what a reader makes of it is the same quantity up to the last bits of sums.</summary>
    public static string Format(Quantity quantity)
    {
        StringBuilder text = new();
        Dimension dimension = quantity.Dimension;
        if (double.IsNegativeInfinity(quantity.Low))
        {
            text.Append(Format(quantity.High, dimension)).Append(" max");
        }
        else if (double.IsPositiveInfinity(quantity.High))
        {
            text.Append(Format(quantity.Low, dimension)).Append(" min");
        }
        else
        {
            double below = quantity.Value - quantity.Low;
            double above = quantity.High - quantity.Value;
            Dimension difference = dimension == Dimension.Temperature ? Dimension.TemperatureDifference : dimension;
            if (quantity.Value != 0 || (below == 0 && above == 0))
            {
                text.Append(Format(quantity.Value, dimension));
            }

            if (below > 0 && Close(below, above))
            {
                text.Append(text.Length > 0 ? " " : "").Append('\u00B1').Append(Format(above, difference));
            }
            else if (below != 0 || above != 0)
            {
                text.Append(text.Length > 0 ? "" : Format(0, dimension));
                text.Append(" +").Append(Format(above, difference)).Append(" \u2212").Append(Format(below, difference));
            }
        }

        Dimension perKelvin = dimension == Dimension.Temperature ? Dimension.TemperatureDifference : dimension;
        if (quantity.Drift != 0)
        {
            text.Append(" \u00B1").Append(Format(quantity.Drift, perKelvin)).Append("/K");
        }

        if (quantity.SignedDrift != 0)
        {
            text.Append(quantity.SignedDrift < 0 ? " " : " +").Append(Format(quantity.SignedDrift, perKelvin)).Append("/K");
        }

        return text.ToString();
    }

    /// <summary>A number in its shortest form that reads back the same, with a true minus.</summary>
    public static string Number(double value) => value.ToString("R", CultureInfo.InvariantCulture).Replace('-', '\u2212').Replace("E+", "E", StringComparison.Ordinal);

    internal static string Integer(int value) => value.ToString(CultureInfo.InvariantCulture);

    /// <summary>The unit in which values of a dimension are kept; empty for a ratio and a price.</summary>
    public static string UnitOf(Dimension dimension) => dimension switch
    {
        Dimension.Voltage => "V",
        Dimension.Current => "A",
        Dimension.Resistance => "Ω",
        Dimension.Capacitance => "F",
        Dimension.Inductance => "H",
        Dimension.Time => "s",
        Dimension.Frequency => "Hz",
        Dimension.Temperature => "°C",
        Dimension.TemperatureDifference => "K",
        Dimension.Power => "W",
        Dimension.ThermalResistance => "K/W",
        Dimension.Acidity => "pH",
        Dimension.AcidityRate => "pH/s",
        Dimension.VoltageRate => "V/s",
        Dimension.RatioRate => "/s",
        Dimension.VoltageNoise => "V/√Hz",
        Dimension.CurrentNoise => "A/√Hz",
        Dimension.Mass => "kg",
        Dimension.Force => "N",
        Dimension.Pressure => "Pa",
        Dimension.Length => "m",
        Dimension.Area => "m²",
        Dimension.Concentration => "mol/m³",
        Dimension.Charge => "As",
        Dimension.Memory => "B",
        Dimension.ConverterStep => "LSB",
        _ => "",
    };

    private static bool Close(double a, double b) => Math.Abs(a - b) <= 1e-9 * Math.Max(Math.Abs(a), Math.Abs(b));

    private static string Join(string number, string unit) => unit.Length == 0 ? number : number + " " + unit;

    private static bool TakesPrefix(Dimension dimension) => Prefixes(dimension).Length > 0;

    private static string Prefixes(Dimension dimension) => dimension switch
    {
        Dimension.Voltage => "numk",
        Dimension.Current => "fpnum",
        Dimension.Resistance => "umkMGT",
        Dimension.Capacitance => "fpnum",
        Dimension.Inductance => "num",
        Dimension.Time => "num",
        Dimension.Frequency => "mkMG",
        Dimension.Power => "numk",
        Dimension.VoltageNoise => "pnum",
        Dimension.CurrentNoise => "fpnum",
        Dimension.Mass => "umk",
        Dimension.Force => "mkM",
        Dimension.Pressure => "kM",
        Dimension.Length => "umk",
        _ => "",
    };

    private static char Prefix(int exponent) => exponent switch
    {
        -15 => 'f',
        -12 => 'p',
        -9 => 'n',
        -6 => 'u',
        -3 => 'm',
        3 => 'k',
        6 => 'M',
        9 => 'G',
        12 => 'T',
        _ => '?',
    };

    /// <summary>Significant digits and the power of ten of the first of them.</summary>
    private static (string Digits, int Exponent) Decompose(double value)
    {
        string scientific = Math.Abs(value).ToString("E16", CultureInfo.InvariantCulture);
        string shortest = Math.Abs(value).ToString("R", CultureInfo.InvariantCulture);
        int exponent = int.Parse(scientific.AsSpan(scientific.IndexOf('E', StringComparison.Ordinal) + 1), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
        int end = shortest.IndexOf('E', StringComparison.Ordinal);
        string mantissa = (end < 0 ? shortest : shortest[..end]).Replace(".", "", StringComparison.Ordinal).TrimStart('0').TrimEnd('0');
        if (mantissa.Length == 0)
        {
            mantissa = "0";
        }

        return (mantissa, exponent);
    }

    /// <summary>The digits with the point behind as many as the exponent says.</summary>
    private static string Place(string digits, int exponent)
    {
        if (exponent < 0)
        {
            return "0." + new string('0', -exponent - 1) + digits;
        }

        return digits.Length <= exponent + 1
            ? digits.PadRight(exponent + 1, '0')
            : digits[..(exponent + 1)] + "." + digits[(exponent + 1)..];
    }

    private static bool ReadsAs(string text, double value, Dimension dimension)
    {
        QuantityForm form = QuantityForm.Of(UnitSets.Of(dimension)).WithSign().OrBare();
        return QuantityParser.Parse(text, form) is { } read && read.Value == value;
    }
}
