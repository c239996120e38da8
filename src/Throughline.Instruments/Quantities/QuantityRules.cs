using System.Globalization;

namespace Throughline.Instruments;

/// <summary>What a well-written quantity still has to satisfy: relations between its numbers, and physics.</summary>
internal static class QuantityRules
{
    /// <summary>Puts the first thing that can't be into <see cref="ParsedQuantity.Problem"/>.</summary>
    public static void Judge(ParsedQuantity parsed, QuantityForm form, bool relativeTolerance)
    {
        if (parsed.Problem is not null)
        {
            return;
        }

        if (!double.IsFinite(parsed.Value) || !double.IsFinite(parsed.Drift) || !double.IsFinite(parsed.SignedDrift) || double.IsNaN(parsed.Low) || double.IsNaN(parsed.High)
            || (!double.IsFinite(parsed.Low) && !parsed.HasMaximum) || (!double.IsFinite(parsed.High) && !parsed.HasMinimum))
        {
            parsed.Problem = new QuantityProblem(Codes.OutOfRange, "The number is too large.", form.Expected);
            return;
        }

        if (parsed.IsRange && parsed.Low > parsed.High)
        {
            parsed.Problem = new QuantityProblem(
                Codes.OutOfRange, "The range begins above its end.", "the lower value first", "exchange the two values");
            return;
        }

        if (parsed.HasMinimum || parsed.HasMaximum)
        {
            if (parsed.Low > parsed.High || (parsed.HasTypical && (parsed.Value < parsed.Low || parsed.Value > parsed.High)))
            {
                parsed.Problem = new QuantityProblem(Codes.OutOfRange, "The limits contradict the value.", "minimum, typical and maximum in rising order");
                return;
            }
        }

        if (relativeTolerance && !parsed.IsAlone && (parsed.Value - parsed.Low >= Math.Abs(parsed.Value) && parsed.Value != 0))
        {
            parsed.Problem = new QuantityProblem(Codes.ToleranceOutOfRange, "A part whose tolerance is 100 % or more may be nothing at all.", "a tolerance of less than 100 %");
            return;
        }

        if (relativeTolerance && parsed.Value == 0)
        {
            parsed.Problem = new QuantityProblem(Codes.ToleranceOutOfRange, "A share of zero is zero: a relative tolerance says nothing here.", "a tolerance in the value's own unit");
            return;
        }

        bool kelvinBelowZero = parsed.Dimension == Dimension.Temperature && Least(parsed) < AbsoluteZeroCelsius;
        if (kelvinBelowZero)
        {
            parsed.Problem = new QuantityProblem(Codes.OutOfRange, "It is below absolute zero.", "a temperature of −273.15 °C or more");
            return;
        }

        // A tolerance alone says how far from nominal, not the value itself.
        if (parsed.IsAlone)
        {
            return;
        }

        if (form.NotZero && parsed.Value == 0)
        {
            parsed.Problem = new QuantityProblem(Codes.OutOfRange, "It can't be zero.", $"{form.Expected}, above zero");
            return;
        }

        if (Least(parsed) < form.Least || Most(parsed) > form.Greatest)
        {
            parsed.Problem = new QuantityProblem(
                Codes.OutOfRange,
                "The value is outside what is possible.",
                Limits(form));
        }
    }

    private const double AbsoluteZeroCelsius = -273.15;

    private static double Least(ParsedQuantity parsed) => double.IsFinite(parsed.Low) ? Math.Min(parsed.Low, parsed.Value) : parsed.Value;

    private static double Most(ParsedQuantity parsed) => double.IsFinite(parsed.High) ? Math.Max(parsed.High, parsed.Value) : parsed.Value;

    private static string Limits(QuantityForm form)
    {
        string least = QuantityText.Format(form.Least, form.Units.Dimension);
        string greatest = QuantityText.Format(form.Greatest, form.Units.Dimension);
        return (double.IsFinite(form.Least), double.IsFinite(form.Greatest)) switch
        {
            (true, true) => string.Create(CultureInfo.InvariantCulture, $"{form.Units.Noun} from {least} to {greatest}"),
            (true, false) => string.Create(CultureInfo.InvariantCulture, $"{form.Units.Noun} of {least} or more"),
            _ => string.Create(CultureInfo.InvariantCulture, $"{form.Units.Noun} of {greatest} or less"),
        };
    }
}
