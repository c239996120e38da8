namespace Throughline.Analysis;

/// <summary>
/// Frequencies at which a response is drawn when the mean of n readings at a spacing T follows it. The mean is zero at every multiple of 1/nT but those of 1/T, where
/// readings see a frequency as if it stood still: the first zeros and the lobes between them are met exactly; further up, where they lie closer than one can draw, the
/// highest of them within a step stands for all.
/// </summary>
/// <param name="spacing">T, s.</param>
/// <param name="readings">n; 1 averages nothing.</param>
internal sealed class FrequencyGrid(double spacing, int readings)
{
    /// <summary>Zeros that are drawn one by one: further up two of them are less than a thirtieth of a decade apart, which a drawing across a page has no room for.</summary>
    private const int Zeros = 14;

    /// <summary>Points from one zero to the next.</summary>
    private const int PerLobe = 12;

    private bool IsMean => readings > 1 && spacing > 0;

    /// <summary>From here on lobes are not told apart, Hz; NaN without averaging.</summary>
    public double EnvelopeFrom => IsMean ? Math.Min(Zeros, readings / 2) / (readings * spacing) : double.NaN;

    /// <summary>The frequencies, rising, Hz.</summary>
    /// <param name="low">Greater than 0.</param>
    /// <param name="count">Of those at even distances on a logarithmic axis.</param>
    public double[] Points(double low, double high, int count)
    {
        SortedSet<double> all = [.. Enumerable.Range(0, count).Select(i => low * Math.Pow(high / low, i / (count - 1.0)))];
        if (IsMean)
        {
            all.UnionWith(Enumerable.Range(1, Math.Min(Zeros, readings / 2) * PerLobe).Select(i => i / (double)PerLobe / (readings * spacing)).Where(f => f >= low && f <= high));
        }

        return [.. all];
    }

    /// <summary>The greatest gain of the mean between two frequencies, at most 1: exact where they are one, never less than any between them.</summary>
    public double MostGain(double low, double high)
    {
        if (!IsMean)
        {
            return 1;
        }

        // Its lobes lie under 1/(n |sin πfT|), which falls on both sides of every multiple of 1/T: the greatest is one of those, or at an end.
        if (Math.Floor(high * spacing) >= Math.Ceiling(low * spacing))
        {
            return 1;
        }

        return Math.Min(1, Math.Max(Envelope(low), Envelope(high)));
    }

    private double Envelope(double hertz) => 1 / (readings * Math.Abs(Math.Sin(Math.PI * hertz * spacing)));
}
