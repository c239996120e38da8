using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Dynamics;

/// <summary>Noise and speed that a file states for its sensor, reference and converter, referred to the measurand.</summary>
public class StatedNoiseTests
{
    // A divider by 2 of 1 V per 100 kPa: 5 mV at the converter per kPa, 2.5 V in 4096 steps.
    private const double StepInKilopascal = 2.5 / 4096 / 5e-3;

    [Fact] // n independent readings leave the nth part of a variance: GUM (JCGM 100:2008) 4.2.3, equation (5)
    public void Noise_OfTheConverter_FallsWithTheRootOfTheReadings()
    {
        Assert.Equal(3 * StepInKilopascal, Cause("reading", "converter noise", "reference: 2.5 V, noise: 3 LSB").Rms, 1e-6);
        Assert.Equal(
            3 * StepInKilopascal / 4, Cause("reading", "converter noise", "reference: 2.5 V, noise: 3 LSB, average: 16, every: 10 ms").Rms, 1e-6);
    }

    [Fact] // Noise of at least half a step makes steps average out too: common practice, no source
    public void Quantisation_AveragesOnlyWhereNoiseMovesTheCode()
    {
        double one = StepInKilopascal / Math.Sqrt(12);
        Assert.Equal(one, Cause("quantisation", null, "reference: 2.5 V, average: 16, every: 10 ms").Rms, 1e-6);
        Assert.Equal(one / 4, Cause("quantisation", null, "reference: 2.5 V, noise: 1 LSB, average: 16, every: 10 ms").Rms, 1e-6);
    }

    [Fact] // By hand: a code that no noise moves is one code or its neighbour; one that is moved is normal noise, 6.6 σ
    public void PeakToPeak_OfACodeThatStandsStill_IsOneCode()
    {
        const string Quiet = "reference: 2.5 V, average: 16, every: 10 ms";
        ResponseReport still = Report(Sketch.Divider(adc: Quiet));
        double others = still.Noise.Where(n => n.Part != "quantisation").Sum(n => n.Rms * n.Rms);
        Assert.Equal(StepInKilopascal + (6.6 * Math.Sqrt(others)), still.NoisePeakToPeak, 1e-9);
        ResponseReport moved = Report(Sketch.Divider(adc: "reference: 2.5 V, noise: 1 LSB, average: 16, every: 10 ms"));
        Assert.Equal(6.6 * moved.NoiseRms, moved.NoisePeakToPeak, 1e-12);
    }

    [Fact] // By hand: blocks of 4 readings 100 ms apart, and a step that comes at any moment of a block; a block shows at its last reading
    public void Response_OfReadingsInBlocks_IsTheWorstMomentOfABlock()
    {
        double t90 = Report(Sketch.Divider(adc: "reference: 2.5 V, average: 4, every: 100 ms")).DisplayT90;
        double worst = 0;
        for (int k = 0; k < 400; k++)
        {
            double step = (k + 0.5) / 1000;
            int block = 0;
            while (Enumerable.Range(4 * block, 4).Count(reading => 0.1 * (reading + 1) > step) < 0.9 * 4)
            {
                block++;
            }

            worst = Math.Max(worst, (0.4 * (block + 1)) - step);
        }

        Assert.Equal(0.7, worst, 0.002);
        Assert.InRange(t90, worst, worst + 0.1);
    }

    [Fact] // White noise e behind a first-order low pass: e √(π/2 · 1/(2π R C)) = e / √(4 R C); the π/2 from every text on noise, common practice, no source
    public void Noise_OfAReference_PassesTheFilterBehindIt()
    {
        // 5 kΩ of the divider and 20 kΩ from the reference, 4 kΩ together, on 1 µF; a fifth of the reference's voltage arrives.
        NoiseCause cause = Cause("VB", null, Filtered("voltage: 2 µV/√Hz"));
        Assert.Equal(2e-6 / 5 / Math.Sqrt(4 * 4e3 * 1e-6) / 4e-3, cause.Rms, 2e-3 * cause.Rms);

        // A corner adds e² f_c (ln of the band it reaches over): more, and by no other cause.
        Assert.True(Cause("VB", null, Filtered("voltage: 2 µV/√Hz, corner: 10 Hz")).Rms > 1.1 * cause.Rms);
        Assert.DoesNotContain(Report(Filtered(null)).Noise, c => c.Part == "VB");
    }

    [Fact] // With nothing else slow, the display takes the sensor's own time
    public void Response_OfTheSensor_IsInTheTimeToNineTenths()
    {
        string text = Sketch.Divider().Replace("kind: table,", "kind: table, response: 12 s,", StringComparison.Ordinal);
        Assert.Equal(12, Report(text).DisplayT90, 0.02);
        Assert.InRange(Report(Sketch.Divider()).DisplayT90, 0, 1e-3);
    }

    private static string Filtered(string? noise) =>
        Sketch.Divider(intent: "{ 0 V: 0.25 V, 1 V: 0.65 V }").Replace(
            "R3: { resistor: 10 kΩ, between: [A5, 0V] }",
            $$"""
            R3: { resistor: 20 kΩ, between: [vb, adc] }
                    VB: { reference: 1.25 V, between: [vb, 0V]{{(noise is null ? "" : $", noise: {{ {noise} }}")}} }
                    C1: { capacitor: 1 µF, between: [adc, 0V] }
            """,
            StringComparison.Ordinal);

    private static NoiseCause Cause(string part, string? kind, string textOrConverter) =>
        Assert.Single(
            Report(textOrConverter.Contains('\n', StringComparison.Ordinal) ? textOrConverter : Sketch.Divider(adc: textOrConverter)).Noise,
            c => c.Part == part && (kind is null || c.Kind == kind));

    private static ResponseReport Report(string text) => Reviewer.Response(Sketch.Read(text))!;
}
