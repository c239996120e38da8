using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>The straight line between values of the output, A or V, and codes of the output converter.</summary>
/// <param name="ValuePerStep">As the adjusted nominal unit has it. A step is a code, or the part of one in which a trimmed output is computed.</param>
/// <param name="GreatestStep">The greatest code that the converter has, in steps.</param>
/// <param name="Factor">With <paramref name="Added"/> and <paramref name="Divisor"/>: (what is entered × factor + added) / divisor is the output test, in steps.</param>
public sealed record PanelOutputLine(double ValuePerStep, double ValueAtZero, long GreatestStep, long Factor, long Added, long Divisor)
{
    /// <summary>The steps for a value of the output test as entered, held to what the converter has.</summary>
    public long StepsOf(long entered) => (long)Int128.Clamp(Rounding.Divide(((Int128)entered * Factor) + Added, Divisor, truncates: false), 0, GreatestStep);

    /// <summary>The steps for a value in A or V.</summary>
    internal long NearestSteps(double value) => (long)Math.Clamp(Math.Round((value - ValueAtZero) / ValuePerStep), 0, GreatestStep);

    /// <summary>Null without a line.</summary>
    /// <param name="law">The chain's.</param>
    /// <param name="test">How the output test is entered; null when there is no output test.</param>
    internal static PanelOutputLine? Create(ChainLaw law, PanelProgramEntry? test)
    {
        if (law.LoopScale is null || CodesOf(law) is not var (codesPerUnit, codeAtZero))
        {
            return null;
        }

        int steps = ArithmeticDesign.OutputStepsPerCode(law);
        (double perUnit, double atZero) = (codesPerUnit * steps, codeAtZero * steps);
        double shown = law.Instrument.Loop!.Signal.ShownScale;
        (long factor, long added, long divisor) = test is null ? (0, 0, 1) : PanelScale.Fraction(perUnit * test.Unit * shown, atZero, test.Low, test.High);
        return new PanelOutputLine(1 / perUnit, -atZero / perUnit, ((1L << law.OutputConverter!.Bits) - 1) * steps, factor, added, divisor);
    }

    /// <summary>Codes per ampere or volt and the code at nothing; null where codes and output lie on no straight line, or nothing drives the output.</summary>
    internal static (double PerUnit, double AtZero)? CodesOf(ChainLaw law)
    {
        if (law.OutputConverter is null || law.Instrument.Loop is not { } loop)
        {
            return null;
        }

        const int Looks = 16;
        (double one, double other) = loop.Signal.IsVoltage ? (loop.Scale.Min(p => p.To.Value), loop.Scale.Max(p => p.To.Value)) : (4e-3, 20e-3);
        (double first, double last) = (law.OutputCodeOf(one), law.OutputCodeOf(other));
        double perUnit = (last - first) / (other - one);
        double atZero = first - (perUnit * one);
        for (int i = 0; i <= Looks; i++)
        {
            const double Reach = 1.2;
            double value = Reach * other * i / Looks;
            double code = law.OutputCodeOf(value);
            if (!double.IsFinite(perUnit) || perUnit == 0 || (double.IsFinite(code) && Math.Abs(code - (atZero + (perUnit * value))) > 1e-6 * Math.Abs(last - first)))
            {
                return null;
            }
        }

        return (perUnit, atZero);
    }
}
