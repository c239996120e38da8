using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>Parts that integer programs are made of: a straight line and a curve, with scalings chosen for the least rounding.</summary>
internal sealed class ProgramParts(IntegerProgram program)
{
    /// <summary>factor × x + added: reduced by a few places, times a whole number, shifted. The places are chosen for the least rounding that the words allow.</summary>
    public Node Straight(string name, Node x, double factor, double added, double step, string unit, string remark)
    {
        int bits = program.ProductBits;
        double bestError = double.PositiveInfinity;
        int bestReduce = 0;
        int bestPlaces = 0;
        for (int reduce = 0; reduce < Math.Max(1, Word.BitsFor(x.Low, x.High) - 3); reduce++)
        {
            Int128 low = Rounding.Shift(x.Low, reduce, false);
            Int128 high = Rounding.Shift(x.High, reduce, false);
            double xStep = Math.ScaleB(x.Step, reduce);
            double size = Math.Max(Math.Abs((double)low), Math.Abs((double)high)) * xStep;
            for (int places = Math.Min(bits, 62); places >= 0; places--)
            {
                double multiplierStep = Math.ScaleB(step / xStep, -places);
                double number = Math.Round(factor / multiplierStep);
                if (Math.Abs(number) > Math.ScaleB(1, bits) || number == 0)
                {
                    continue;
                }

                Int128 m = (Int128)number;
                (Int128 a, Int128 b) = m < 0 ? (high * m, low * m) : (low * m, high * m);
                Int128 bias = Bias(added, step, places);
                if (!new Word(bits, a < 0).Holds(Int128.Min(a, a + bias), Int128.Max(b, b + bias)) || !new Word(bits, m < 0).Holds(m, m))
                {
                    continue;
                }

                double error = (reduce == 0 ? 0 : 0.5 * xStep * Math.Abs(factor)) + (size * Math.Abs((number * multiplierStep) - factor));
                if (error < bestError)
                {
                    (bestError, bestReduce, bestPlaces) = (error, reduce, places);
                }

                break;
            }
        }

        Node reduced = program.Shift(name + "_reduced", x, bestReduce, "fewer places, so that the product fits");
        double mStep = Math.ScaleB(step / reduced.Step, -bestPlaces);
        Int128 multiplier = (Int128)Math.Round(factor / mStep);

        // A multiplier that is a power of two times a smaller one needs fewer places; 1 needs no product at all.
        while (bestPlaces > 0 && multiplier != 0 && Int128.IsEvenInteger(multiplier))
        {
            multiplier >>= 1;
            mStep *= 2;
            bestPlaces--;
        }

        Node product = multiplier == 1 && mStep == factor
            ? reduced with { Step = reduced.Step * mStep, Unit = unit, Error = reduced.Error * Math.Abs(mStep) }
            : program.Multiply(
                name + "_product", reduced, program.Constant(name + "_factor", multiplier, factor, mStep, unit, "how much of it per step"), unit, "times how much of it per step");
        Int128 fraction = bestPlaces == 0 ? 0 : Bias(added, step, bestPlaces);
        double whole = bestPlaces == 0 ? Math.Round(added / step) : Math.Floor(added / step);
        if (fraction != 0)
        {
            Node constant = program.Constant(name + "_rest", fraction, added - (whole * step), product.Step, unit, "the part of the constant that is less than a step");
            product = program.Add(name + "_biased", product, constant, "with the part of the constant that is less than a step");
        }

        Node shifted = program.Shift(bestPlaces == 0 || whole != 0 ? name + "_steps" : name, product, bestPlaces, whole == 0 ? remark : "in steps");
        return whole == 0
            ? shifted
            : program.Add(name, shifted, program.Constant(name + "_constant", (Int128)whole, fraction != 0 ? whole * step : added, step, unit, "the whole steps of the constant"), remark);
    }

    private static Int128 Bias(double added, double step, int places)
    {
        double rest = (added / step) - Math.Floor(added / step);
        return rest < 1e-9 || rest > 1 - 1e-9 ? 0 : (Int128)Math.Round(Math.ScaleB(rest, places));
    }

    /// <summary>A table of a curve, as coarse as the deviation allows.</summary>
    /// <param name="deviation">How far the straight lines may lie from the curve, in the unit of the result.</param>
    /// <param name="within">The numbers that the table is for: beyond them its ends are held; null for all.</param>
    public Node Curve(
        string name, Node x, Func<double, double> curve, double step, string unit, double deviation, string remark, (Int128 Low, Int128 High)? within = null)
    {
        const int Looks = 8;
        const int MostPlaces = 1025;
        (Int128 low, Int128 high) = within ?? (x.Low, x.High);
        Int128 span = Int128.Max(1, high - low);
        Node above = program.Subtract(
            name + "_place", program.Clamp(name + "_held", x, low, high, "held to the table"), program.Constant(name + "_start", low, (double)low * x.Step, x.Step, x.Unit, "where the table begins"), "from the table's beginning");
        int places = Math.Max(1, Word.BitsFor(0, span) - 1);
        double found;
        while ((found = Deviation(places)) > deviation && places > 1 && (span >> (places - 1)) + 2 <= MostPlaces)
        {
            places--;
        }

        // A table's last place lies at or beyond its end: straight on along the curve, or level where the curve has ended.
        int count = (int)((span + (Int128.One << places) - 1) >> places) + 1;
        ImmutableArray<Int128> values = [.. Enumerable.Range(0, count).Select(i => (Int128)Math.Round(At(low + ((Int128)i << places)) / step, MidpointRounding.AwayFromZero))];
        return program.Table(name, above, places, values, step, unit, found, remark + FormattableString.Invariant($", {count} places"));

        double At(Int128 number)
        {
            double value = curve((double)number * x.Step);
            if (double.IsFinite(value))
            {
                return value;
            }

            Int128 end = number < low ? low : high;
            double slope = curve((double)end * x.Step) - curve((double)(end - 1) * x.Step);
            return curve((double)end * x.Step) + ((double)(number - end) * slope);
        }

        double Deviation(int p)
        {
            double worst = 0;
            double width = Math.ScaleB(1, p);
            for (Int128 start = low; start < high; start += Int128.One << p)
            {
                double a = At(start);
                double b = At(start + (Int128.One << p));
                for (int i = 1; i < Looks; i++)
                {
                    double number = (double)start + (width * i / Looks);
                    if (number > (double)high)
                    {
                        break;
                    }

                    double d = Math.Abs(curve(number * x.Step) - (a + ((b - a) * i / Looks)));
                    worst = double.IsNaN(d) ? double.PositiveInfinity : Math.Max(worst, d);
                }

                if (worst > deviation)
                {
                    break;
                }
            }

            return worst;
        }
    }
}
