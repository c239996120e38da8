namespace Throughline.Circuits;

/// <summary>What averaging over a window does to a frequency: nothing at 0 Hz, and nothing is left at every whole multiple of 1/T.</summary>
public static class MovingAverage
{
    /// <summary>sin(πfT)/(πfT), with its sign.</summary>
    /// <param name="hertz">Frequency f.</param>
    /// <param name="seconds">Length T of the window; 0 averages nothing.</param>
    public static double Gain(double hertz, double seconds)
    {
        double turns = hertz * seconds;
        if (turns == 0)
            return 1;
        // Whole turns are a true zero, which sin(πn) in floating point is not.
        double rest = turns - Math.Round(turns);
        double sine = Math.Sin(Math.PI * rest) * (Math.Abs(Math.Round(turns)) % 2 == 1 ? -1 : 1);
        return sine / (Math.PI * turns);
    }

    /// <summary>Mean of n samples at a spacing: sin(πfnT)/(n sin(πfT)).</summary>
    public static double Gain(double hertz, double spacingSeconds, int samples)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(samples);
        double one = Gain(hertz, spacingSeconds);
        return one == 0 ? 1 : Gain(hertz, samples * spacingSeconds) / one;
    }
}
