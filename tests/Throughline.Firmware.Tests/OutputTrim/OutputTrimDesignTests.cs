using Throughline.Analysis;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>The whole numbers of the trim against the line through two points, in exact fractions.</summary>
public sealed class OutputTrimDesignTests
{
    private const int Last = 16_383;

    private static readonly OutputTrimDesign Design = OutputTrimDesign.Of(Sketches.Demo("hopper-bridge"))!;

    [Fact]
    public void Codes_ThatAreGivenAndAccepted_AreThoseOfTheFile()
    {
        Assert.Equal((2712, 13_912, Last), (Design.LowCode, Design.HighCode, Design.LastCode));
        Assert.True(Design.IsAccepted(3750, 20_250));
        Assert.False(Design.IsAccepted(3749, 20_000));
        Assert.False(Design.IsAccepted(4251, 20_000));
        Assert.False(Design.IsAccepted(4000, 19_749));
        Assert.False(Design.IsAccepted(4000, 20_251));
    }

    [Fact]
    public void Code_WithoutATrim_IsTheNearestToEveryStep()
    {
        for (long steps = 0; steps <= Last * 16; steps++)
        {
            Assert.Equal((steps + 8) / 16, Design.CodeOf(steps, 0, 0));
        }
    }

    [Theory]
    [InlineData(4000, 20_000)]
    [InlineData(4010, 19_980)]
    [InlineData(3990, 20_020)]
    [InlineData(3750, 19_750)]
    [InlineData(3750, 20_250)]
    [InlineData(4250, 19_750)]
    [InlineData(4250, 20_250)]
    [InlineData(3893, 20_117)]
    public void Code_OfEveryStep_IsOnTheLineWithinTheBound(long low, long high)
    {
        (long offset, long gain) = Design.Fit(low, high);
        int held = 0;
        for (long steps = 0; steps <= Last * 16; steps++)
        {
            long code = Design.CodeOf(steps, offset, gain);
            double off = HopperLine.Distance(code, low, high, steps);
            if (code is 0 or Last)
            {
                // Held to what the converter has: the line lies there or beyond.
                Assert.True(code == 0 ? off >= -0.5 - Design.Bound : off <= 0.5 + Design.Bound, $"{steps}: {code}");
                continue;
            }

            held++;
            Assert.True(Math.Abs(off) <= 0.5 + Design.Bound, $"{steps}: {code} is off by {off}");
        }

        Assert.True(held > 240_000);
    }

    /// <summary>All 251 001 pairs of entries: every number in its range, the words as the numbers, and the ends, the two codes and the middle on the line.</summary>
    [Fact]
    public void Numbers_OfEveryPairOfEntries_StayInRangeAndOnTheLine()
    {
        Int128[] numbers = new Int128[Design.Program.Nodes.Count];
        Int128[] inWords = new Int128[numbers.Length];
        long[] asked = [0, 2712 * 16, 8312 * 16, 13_912 * 16, Last * 16];
        double worst = 0;
        for (long low = 3750; low <= 4250; low++)
        {
            for (long high = 19_750; high <= 20_250; high++)
            {
                (long offset, long gain) = Design.Fit(low, high);
                OutputTrimInputs inputs = new(low, high, asked[(low + high) % asked.Length], offset, gain);
                Assert.True(Design.Run(inputs, numbers, inWords: false));
                Assert.True(Design.Run(inputs, inWords, inWords: true));
                Assert.True(numbers.AsSpan().SequenceEqual(inWords));
                foreach (Node node in Design.Program.Nodes)
                {
                    Assert.True(numbers[node.Index] >= node.Low && numbers[node.Index] <= node.High);
                }

                long code = (long)numbers[Design.Given.Index];
                double off = Math.Abs(HopperLine.Distance(code, low, high, inputs.Steps));
                if (code is > 0 and < Last)
                {
                    worst = Math.Max(worst, off - 0.5);
                }
            }
        }

        // The bound holds, and is no more than a few times what really happens.
        Assert.InRange(worst, Design.Bound / 5, Design.Bound);
    }

    /// <summary>A unit whose loop is a straight line of its own, read by a meter that shows whole microamperes: the trimmed unit is right to half a code, the rounding, and what half a microampere at either current makes.</summary>
    [Theory]
    [InlineData(0, 1)]
    [InlineData(120e-6, 1.002)]
    [InlineData(-90e-6, 0.996)]
    [InlineData(30e-6, 0.99)]
    public void Unit_ThatIsOff_IsRightAfterwards(double zero, double gain)
    {
        const double PerCode = 1e-6 / 0.7;
        double Flows(long code) => zero + (gain * (4e-3 + ((code - 2712) * PerCode)));
        long low = (long)Math.Round(Flows(2712) * 1e6);
        long high = (long)Math.Round(Flows(13_912) * 1e6);
        Assert.True(Design.IsAccepted(low, high));
        (long offset, long kept) = Design.Fit(low, high);
        for (double wanted = 3.6e-3; wanted <= 22e-3; wanted += 17e-6)
        {
            long steps = (long)Math.Round((2712 + ((wanted - 4e-3) / PerCode)) * 16);
            double t = (wanted - 4e-3) / 16e-3;

            // A thirty-second of a code for the steps of what is asked; the gain of the unit turns codes into its own current.
            double allowed = ((0.5 + Design.Bound + (1.0 / 32)) * PerCode * gain) + (0.5e-6 * (Math.Abs(1 - t) + Math.Abs(t)));
            Assert.InRange(Flows(Design.CodeOf(steps, offset, kept)) - wanted, -allowed, allowed);
        }
    }

    [Fact]
    public void Words_ThatAreTooNarrow_AreFoundWithEntriesThatShowIt()
    {
        OutputTrimDesign narrow = OutputTrimDesign.Of(Hopper("words: 32 bit", "words: 16 bit"))!;
        OutputTrimProof proof = OutputTrimProof.Of(narrow);
        Assert.False(proof.IsSound);
        (Node node, OutputTrimInputs? first) = proof.Overflows.First(o => o.First is not null);
        Int128[] numbers = new Int128[narrow.Program.Nodes.Count];
        narrow.Run(first!.Value, numbers, inWords: false);
        Assert.False(node.Word.Holds(numbers[node.Index], numbers[node.Index]));
        Assert.Throws<ArgumentException>(() => OutputTrimCode.Write(narrow));
        Assert.DoesNotContain(FirmwareCode.Of(narrow.Law.Instrument).Files, f => f.Name == "output_trim.c");
    }

    [Theory]
    [InlineData("high: 20 mA", "high: 20 mA", Outcome.Met)]
    [InlineData("low: 4 mA, high: 20 mA", "low: 11 mA, high: 12 mA", Outcome.NotMet)]
    public void Rounding_GrowsAsTheCurrentsComeTogether(string sound, string other, Outcome outcome) =>
        Assert.Equal(outcome, Assert.Single(new OutputTrimRoundingCheck().Run(Hopper(sound, other))).Outcome);

    private static Instrument Hopper(string sound, string other)
    {
        string file = Repository.PathOf("demo", "hopper-bridge", "instrument.yaml");
        string text = File.ReadAllText(file);
        Assert.Contains(sound, text, StringComparison.Ordinal);
        Parsed<Instrument> parsed = InstrumentReader.ReadText(file, text.Replace(sound, other, StringComparison.Ordinal), Path.GetDirectoryName(file));
        Assert.Empty(parsed.Diagnostics);
        return parsed.Value!;
    }
}
