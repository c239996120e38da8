using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>The arithmetic that is derived from an instrument against what it has to compute.</summary>
public sealed class ArithmeticDesignTests
{
    public static TheoryData<string> Demos => [.. Sketches.Demos];

    [Theory]
    [MemberData(nameof(Demos))]
    public void Numbers_OfAnyAcceptedCalibration_StayInRangeAndWithinTheBound(string demo)
    {
        ArithmeticDesign design = Of(Sketches.Demo(demo));
        Assert.True(design.Program.Fits);
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        Int128[] inWords = new Int128[design.Program.Nodes.Count];
        int held = 0;
        foreach ((ArithmeticInputs inputs, _) in ArithmeticCode.TestVectors(design, 20_000))
        {
            Assert.True(design.Run(inputs, numbers, inWords: false));
            Assert.True(design.Run(inputs, inWords, inWords: true));
            Assert.Equal(numbers, inWords);
            foreach (Node node in design.Program.Nodes)
            {
                Assert.InRange(numbers[node.Index], node.Low, node.High);
            }

            double exact = design.Exact(inputs);
            if (exact >= design.Region.Low && exact <= design.Region.High)
            {
                held++;
                Assert.True(Math.Abs(((double)numbers[design.Measurand.Index] * design.Measurand.Step) - exact) <= design.Measurand.Error + 1e-9);
            }
        }

        Assert.True(held > 5_000);
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void OutputCode_OfEveryCode_IsThatOfTheMeasurandWithinATenth(string demo)
    {
        ArithmeticDesign design = Of(Sketches.Demo(demo));
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        for (long code = (long)design.Code.Low; code <= (long)design.Code.High; code++)
        {
            design.Run(design.Nominal(code), numbers, inWords: false);

            // The step is a decimal one, so that the end of what is plausible is met exactly: with doubles only when rounded.
            double measurand = Math.Round((double)numbers[design.Measurand.Index] * design.Measurand.Step, 9);
            double wanted = design.Law.OutputCodeOf(design.Law.WantedValue(measurand));

            // Where a trim comes after it the half code comes there.
            int steps = ArithmeticDesign.OutputStepsPerCode(design.Law);
            double found = (double)numbers[design.OutputCode!.Index] / steps;
            Assert.True(Math.Abs(found - wanted) <= (steps == 1 ? 0.5 : 0) + ArithmeticDesign.OutputAllowed, $"code {code}: {found} for {wanted}");
        }
    }

    // IEC 60751:2022: resistance of Pt100 against temperature, printed to four decimals in the table.
    [Fact]
    public void Linearisation_OfPlatinum_IsThatOfIec60751()
    {
        ArithmeticDesign design = Of(Sketches.Platinum());
        Assert.True(design.Measurand.Error <= design.Allowed, $"bound {design.Measurand.Error}");
        int rows = 0;
        foreach (PublishedRow row in PublishedTable.Read("sensors", "sensors-rtd-pt100.csv").Rows)
        {
            double celsius = row.Number("temperature_C");
            if (celsius < -199 || celsius > 800)
            {
                continue;
            }

            rows++;
            double ohmsPerCode = 400.0 / 16_777_215;
            long code = (long)Math.Round(row.Number("resistance_ohm") / ohmsPerCode);

            // Half a code and half of the table's last digit, at 0.29 Ω/K or more.
            double reading = Run(design, design.Nominal(code));
            Assert.InRange(reading - celsius, -design.Measurand.Error - ((ohmsPerCode + 0.0001) / 0.58), design.Measurand.Error + ((ohmsPerCode + 0.0001) / 0.58));
        }

        Assert.True(rows > 10);
    }

    // IEC 60584-1:2013: emf against temperature with the reference junction at 0 °C, printed to 1 µV.
    [Theory]
    [InlineData("K", "−100 .. 1200 °C", "0.1 °C", 0.022)]
    [InlineData("J", "−150 .. 1100 °C", "0.1 °C", 0.022)]
    [InlineData("T", "−150 .. 380 °C", "0.1 °C", 0.022)]
    [InlineData("E", "−150 .. 950 °C", "0.1 °C", 0.030)]
    [InlineData("N", "−100 .. 1250 °C", "0.1 °C", 0.018)]
    [InlineData("B", "400 .. 1800 °C", "1 °C", 0.0035)]
    [InlineData("R", "0 .. 1700 °C", "1 °C", 0.0050)]
    [InlineData("S", "0 .. 1700 °C", "1 °C", 0.0050)]
    public void Linearisation_OfAThermocouple_IsThatOfIec60584(string type, string range, string step, double leastMillivoltsPerKelvin)
    {
        ArithmeticDesign design = Of(Sketches.Couple(type, range, step));
        Assert.True(design.Measurand.Error <= design.Allowed, $"bound {design.Measurand.Error}");
        Specification specification = design.Law.Instrument.Specification;
        int rows = 0;
        foreach (PublishedRow row in PublishedTable.Read("sensors", "sensors-tc-checkpoints.csv").Rows.Where(r => r["type"] == type))
        {
            double celsius = row.Number("temperature_C");
            if (celsius < specification.Range.Low || celsius > specification.Range.High)
            {
                continue;
            }

            rows++;
            long code = (long)Math.Round((row.Number("emf_mV") + 10) / 90 * 16_777_215);

            // Half of the table's last digit and half a code, where the type gives the least per kelvin: differences of the same table.
            double slack = (0.0005 + (45.0 / 16_777_215)) / leastMillivoltsPerKelvin;
            double reading = Run(design, design.Nominal(code) with { Temperature = 0 });
            Assert.InRange(reading - celsius, -design.Measurand.Error - slack, design.Measurand.Error + slack);
        }

        Assert.True(rows > 3);
    }

    [Fact]
    public void Curve_OverTheCodes_NeverExceedsTheBound()
    {
        foreach (string demo in Sketches.Demos)
        {
            ArithmeticDesign design = Of(Sketches.Demo(demo));
            Assert.All(ArithmeticProof.Of(design).Curve(), e => Assert.True(Math.Abs(e.Error) <= design.Measurand.Error));
        }
    }

    [Fact]
    public void WiderWords_RoundLess()
    {
        double At(string words) => Of(Sketches.Platinum($", words: {words}")).Measurand.Error;
        Assert.True(At("64 bit") <= At("32 bit"));
    }

    private static ArithmeticDesign Of(Instrument instrument)
    {
        ArithmeticDesign? design = ArithmeticDesign.Of(instrument);
        Assert.NotNull(design);
        Assert.Null(design.Trouble);
        return design;
    }

    private static double Run(ArithmeticDesign design, ArithmeticInputs inputs)
    {
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        Assert.True(design.Run(inputs, numbers, inWords: true));
        return (double)numbers[design.Measurand.Index] * design.Measurand.Step;
    }
}
