using Throughline.Analysis.Tests.Corpus;
using Xunit;

namespace Throughline.Analysis.Tests.Dynamics;

/// <summary>The frequency response that is drawn.</summary>
public class ResponseCurveTests
{
    private const int Readings = 16;
    private const double Spacing = 5e-3;

    private static readonly ResponseReport Report = Reviewer.ResponseToDraw(
        Sketch.Read(Sketch.Divider(adc: $"reference: 2.5 V, average: {Readings}, every: 5 ms").Replace(
            "R3: { resistor: 10 kΩ, between: [A5, 0V] }", "C1: { capacitor: 10 µF, between: [adc, 0V] }", StringComparison.Ordinal)))!;

    [Fact] // One pole: |H|² = 1/(1 + (f/f₀)²) and arg H = −atan(f/f₀), every text on circuits; common practice, no source
    public void Curve_OfOneCapacitor_IsALowPassOfFirstOrder()
    {
        double corner = Report.CornerHertz;
        Assert.All(Report.Curve!.Frequencies, p =>
        {
            double ratio = p.Hertz / corner;
            Assert.Equal(-10 * Math.Log10(1 + (ratio * ratio)), p.Decibel, 1e-3);
            Assert.Equal(-Math.Atan(ratio) * 180 / Math.PI, p.Degrees, 1e-2);
        });
        Assert.True(Report.Curve.Frequencies.Length > 400);
    }

    [Fact] // Gain of the mean of M readings, |sin πfM / (M sin πf)|, f in parts of the rate: Smith, The Scientist and Engineer's Guide to Digital Signal Processing (1997), equation 15-2
    public void Curve_WithAveraging_IsThatOfTheMeanWhileItsLobesAreToldApart()
    {
        FrequencyPoint[] told = [.. Report.Curve!.Frequencies.Where(p => p.Hertz <= Report.Curve.EnvelopeFromHertz)];
        Assert.Contains(told, p => p.WithAveraging < -200);
        foreach (FrequencyPoint point in told.Where(p => p.WithAveraging > -150))
        {
            Assert.Equal(20 * Math.Log10(MeanGain(point.Hertz)), point.WithAveraging - point.Decibel, 1e-6);
        }
    }

    [Fact] // The same equation: above, nothing near a frequency passes better than is drawn, and at every image, where sin πf is 0, everything does
    public void Curve_FurtherUp_IsAboveEveryLobe()
    {
        FrequencyPoint[] above = [.. Report.Curve!.Frequencies.Where(p => p.Hertz > Report.Curve.EnvelopeFromHertz)];
        Assert.True(above.Length > 100);
        for (int i = 1; i < above.Length - 1; i++)
        {
            double most = Enumerable.Range(0, 41).Max(k => MeanGain(Math.Sqrt(above[i].Hertz * above[i - 1].Hertz) * Math.Pow(above[i + 1].Hertz / above[i - 1].Hertz, k / 80.0)));
            Assert.True(above[i].WithAveraging - above[i].Decibel >= (20 * Math.Log10(most)) - 1e-6, $"{above[i].Hertz} Hz");
        }

        FrequencyPoint image = above.MinBy(p => Math.Abs(p.Hertz - (1 / Spacing)))!;
        Assert.Equal(image.Decibel, image.WithAveraging, 1e-9);
    }

    [Fact] // 16 readings every 5 ms span 4 periods of 50 Hz: nothing is left of it, but of 49 and 51 Hz by the same equation
    public void Least_AboutTheMains_IsThatOffTheZero()
    {
        double At(double hertz) => -(20 * Math.Log10(MeanGain(hertz))) + (10 * Math.Log10(1 + Math.Pow(hertz / Report.CornerHertz, 2)));
        Assert.True(Report.Rejection50 > 200);
        Assert.Equal(Math.Min(At(49), At(51)), Report.Curve!.Least50, 0.01);
    }

    private static double MeanGain(double hertz)
    {
        double f = hertz * Spacing;
        return f % 1 == 0 ? 1 : Math.Abs(Math.Sin(Math.PI * f * Readings) / (Readings * Math.Sin(Math.PI * f)));
    }
}
