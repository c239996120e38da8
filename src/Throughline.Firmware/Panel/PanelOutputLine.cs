using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>The straight line between currents of the loop and codes of the output converter.</summary>
/// <param name="AmperesPerCode">As the adjusted nominal unit has it.</param>
/// <param name="Factor">With <paramref name="Added"/> and <paramref name="Divisor"/>: (entered current × factor + added) / divisor is the code of the output test.</param>
public sealed record PanelOutputLine(double AmperesPerCode, double AmperesAtZero, long GreatestCode, long Factor, long Added, long Divisor)
{
    /// <summary>The code for a test current as entered, held to what the converter has.</summary>
    public long CodeOf(long entered) => (long)Int128.Clamp(Rounding.Divide(((Int128)entered * Factor) + Added, Divisor, truncates: false), 0, GreatestCode);

    /// <summary>The code for a current in A.</summary>
    internal long NearestCode(double amperes) => (long)Math.Clamp(Math.Round((amperes - AmperesAtZero) / AmperesPerCode), 0, GreatestCode);

    /// <summary>Null without a line.</summary>
    /// <param name="law">The chain's.</param>
    /// <param name="test">How the test current is entered; null when there is no output test.</param>
    internal static PanelOutputLine? Create(ChainLaw law, PanelProgramEntry? test)
    {
        if (law.OutputConverter is not { } converter || law.LoopScale is null)
        {
            return null;
        }

        const double One = 4e-3;
        const double Other = 20e-3;
        const int Looks = 16;
        (double first, double last) = (law.OutputCodeOf(One), law.OutputCodeOf(Other));
        double perAmpere = (last - first) / (Other - One);
        double atZero = first - (perAmpere * One);
        for (int i = 0; i <= Looks; i++)
        {
            const double Reach = 24e-3;
            double amperes = Reach * i / Looks;
            double code = law.OutputCodeOf(amperes);
            if (!double.IsFinite(perAmpere) || perAmpere == 0 || (double.IsFinite(code) && Math.Abs(code - (atZero + (perAmpere * amperes))) > 1e-6 * Math.Abs(last - first)))
            {
                return null;
            }
        }

        const double Milli = 1e-3;
        (long factor, long added, long divisor) = test is null ? (0, 0, 1) : PanelScale.Fraction(perAmpere * test.Unit * Milli, atZero, test.Low, test.High);
        return new PanelOutputLine(1 / perAmpere, -atZero / perAmpere, (1L << converter.Bits) - 1, factor, added, divisor);
    }
}
