using System.Globalization;
using System.Text.Json;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>
/// Situations that designers of such instruments met, each judged as it must be. The figures are those of the cases, worked by hand from Nernst's
/// equation, Ohm's law, IEC 60751 and IEC 60584-1; a tolerance is half of the last digit that the case states unless it says otherwise.
/// </summary>
public sealed class CasesTests
{
    private const string Bias = "bias current times source resistance";
    private const string ReturnBias = "bias of the sensor's return";
    private const string Influence = "influence on the sensor";
    private const string Supplies = "reading independent of the supplies";
    private const string Intent = "stage does what its intent says";
    private const string Acceptance = "calibration acceptance";
    private const string Compliance = "loop compliance";

    // Case 1. Slope at 25 °C is 59.16 mV/pH, times 3: 177.5 mV/pH.
    [Fact]
    public void SensorBoardOnLowConverter_ExceedsLinearRangeAndPinLimit_WhereTheCaseSays()
    {
        Review review = Case("01-sensor-board-on-low-converter");

        Finding range = Demo.Of(review, "converter range exceeded");
        Assert.Equal(Outcome.NotMet, range.Outcome);
        Assert.Equal(7.28, Demo.Figure(range, "measurand at the end of the range"), 0.005);
        Assert.Contains("from pH 7.28 down", Demo.Plain(range.Statement), StringComparison.Ordinal);
        Assert.Contains("divider of at most 0.65", Demo.Plain(range.Mend), StringComparison.Ordinal);

        Finding pins = Demo.Of(review, "converter pins within their absolute limits");
        Assert.Equal(Outcome.NotMet, pins.Outcome);
        Assert.Equal(2.49, Demo.Figure(pins, "measurand at the end of the range"), 0.005);
        Assert.Contains("from pH 2.49 down", Demo.Plain(pins.Statement), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0, 3.742)]
    [InlineData(4, 3.032)]
    [InlineData(10, 1.968)]
    [InlineData(14, 1.258)]
    public void SensorBoardOnLowConverter_Gives(double ph, double volts)
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(PathOf("01-sensor-board-on-low-converter")).Value);
        ReadingsTable table = Reviewer.Readings(instrument, [ph]);
        int column = table.Columns.Select((c, i) => (c.Name, i)).Single(c => c.Name == "TP1").i;
        Assert.Equal(volts, Assert.Single(table.Rows).Values[column], 0.001);    // 7 × 177.48 mV and 2.500 V: the case rounds to 1 mV
    }

    // Case 2.
    [Fact]
    public void FollowerOnSaggingRails_IsJudgedByTheMaximumBiasCurrent()
    {
        Finding bias = Demo.Of(Case("02-follower-on-sagging-rails"), Bias, "U1");
        Assert.Equal(Outcome.NotMet, bias.Outcome);
        Assert.Equal(400e-12, Demo.Figure(bias, "greatest bias current"), 1e-15);
        Assert.Equal(0.080, Demo.Figure(bias, "shift at the sensor"), 0.0005);
        Assert.Equal(1.35, Demo.Figure(bias, "shift of the reading"), 0.005);
        Assert.Equal(0.22, Demo.Figure(bias, "typical shift of the reading"), 0.005);    // 13 mV at 59.16 mV/pH
        Assert.Contains("400 pA", Demo.Plain(bias.Statement), StringComparison.Ordinal);
        Assert.Contains("65 pA", Demo.Plain(bias.Statement), StringComparison.Ordinal);
    }

    [Fact]
    public void FollowerOnSaggingRails_LeavesTheGuaranteedInputRange()
    {
        Finding range = Demo.Of(Case("02-follower-on-sagging-rails"), "amplifier input range", "U1");
        Assert.Equal(Outcome.NotMet, range.Outcome);
        Assert.Equal(0.12, Demo.Figure(range, "begins at"), 0.005);
        // The electrode swings to −0.414 V and the greatest bias current pulls it 0.080 V further: between 0.53 and 0.62 V are missing.
        Assert.InRange(Demo.Figure(range, "left above the start"), -0.62, -0.53);
        Assert.Contains("+120 mV", Demo.Plain(range.Statement), StringComparison.Ordinal);
    }

    // Case 3, sound: no alarm of any kind.
    [Theory]
    [InlineData("03a-half-supply-bias-50-megohm", 0.0009)]
    [InlineData("03b-half-supply-bias-10-megohm", 0.0043)]
    public void UnbufferedHalfSupplyBias_IsMet(string name, double ph)
    {
        Review review = Case(name);
        Assert.Empty(Demo.Named(review, Outcome.NotMet));

        Finding finding = Demo.Of(review, ReturnBias);
        Assert.Equal(Outcome.Met, finding.Outcome);
        Assert.Equal(ph, Demo.Figure(finding, "shift of the reading"), 0.00005);
        Assert.Equal(0.01, Demo.Figure(finding, "allowed"), 1e-9);
        Assert.Equal(5000, Demo.Figure(finding, "resistance at the return"), 1.0);
    }

    // Case 4. By hand, errors of ±3 pH times (1 − T/298.15 K): +0.2012 at 5 °C in 4.00, −0.2012 in 10.00; −0.1509 at 40 °C in 4.00.
    [Fact]
    public void TemperatureNeverUsed_StatesTheErrorAndWhereItIsLargest()
    {
        Review review = Case("04-temperature-never-used");
        Finding influence = Demo.Of(review, Influence);
        Assert.Equal(("process temperature not compensated", Outcome.NotMet), (influence.Subject, influence.Outcome));
        Assert.Equal(0.2012, Demo.Figure(influence, "error at pH 4"), 0.00005);
        Assert.Equal(-0.2012, Demo.Figure(influence, "error at pH 10"), 0.00005);
        Assert.Equal(0.2012, Math.Abs(Demo.Figure(influence, "largest error")), 0.00005);
        Assert.Contains("+0.201 pH at pH 4", Demo.Plain(influence.Statement), StringComparison.Ordinal);
        Assert.Contains("compensation: measured", Demo.Plain(influence.Mend), StringComparison.Ordinal);
        Assert.Equal(Outcome.Met, Demo.Of(review, Acceptance).Outcome);
    }

    [Theory]
    [InlineData(4, 10, 4.15)]
    [InlineData(10, 5, 9.80)]
    [InlineData(4, 40, 3.85)]
    [InlineData(7, 5, 7.00)]
    [InlineData(7, 40, 7.00)]
    public void TemperatureNeverUsed_Reads(double ph, double celsius, double reads)
    {
        Instrument instrument = Assert.IsType<Instrument>(InstrumentReader.ReadFile(PathOf("04-temperature-never-used")).Value);
        ReadingsTable table = Reviewer.Readings(instrument, [ph], Reviewer.ReferenceConditions(instrument) with { Process = celsius });
        int column = table.Columns.Select((c, i) => (c.Name, i)).Single(c => c.Name == "display").i;
        Assert.Equal(reads, Assert.Single(table.Rows).Values[column], 0.0051);    // half of the case's last digit
    }

    // Case 5, its last sentence.
    [Fact]
    public void RefusalWithoutTimeout_IsATrap()
    {
        Finding finding = Demo.Of(Case("05d-refusal-waits"), "panel returns to measuring");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        string statement = Demo.Plain(finding.Statement);
        Assert.Contains("`refused` waits for a key for ever. A trap: the loop is held meanwhile, and nothing controls the process.", statement, StringComparison.Ordinal);
        Assert.Contains("CAL · SET · a sensor to be refused · SET · nobody there", statement, StringComparison.Ordinal);
    }

    // Case 5. Tolerances are half of the case's last digit.
    [Theory]
    [InlineData("05a-zero-refused", Outcome.NotMet, "least zero", -38.4e-3, 0.980, "zero of −38.4 mV is refused although its slope of 98 % is good")]
    [InlineData("05b-accepted", Outcome.Met, "least zero", -15e-3, 0.986, null)]
    [InlineData("05c-slope-refused", Outcome.NotMet, "greatest zero", 15e-3, 0.817, "slope of 81.7 % is refused although its zero of ")]
    public void LineFits_ElectrodeDoesNot(string name, Outcome outcome, string figure, double zero, double slope, string? says)
    {
        Finding finding = Demo.Of(Case(name), Acceptance);
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(zero, Demo.Figure(finding, figure), 0.05e-3);
        Assert.Equal(slope, Demo.Figure(finding, "least slope"), 0.0005);
        if (says is not null)
        {
            Assert.Contains(says, Demo.Plain(finding.Statement), StringComparison.Ordinal);
        }
    }

    // Case 6. All bits set: a flag that is not 0 is true; exponent all ones with a fraction is not a number (IEEE 754), neither below 95 nor above 105.
    // Zero is tested the other way round and the chosen scale has a range: they refuse the blank state.
    [Fact]
    public void BlankSettings_AreAcceptedAsASetting_ByTheirNames()
    {
        Finding blank = Demo.Of(Case("06-blank-settings"), "blank memory starts");
        Assert.Equal(Outcome.NotMet, blank.Outcome);
        string statement = Demo.Plain(blank.Statement);
        Assert.Contains("all FF, is accepted as a setting: calibrated reads true and slope is not a number.", statement, StringComparison.Ordinal);
        Assert.Contains("A test of slope for below 95 or above 105 lets through what is not a number.", statement, StringComparison.Ordinal);
        Assert.DoesNotContain("zero", statement, StringComparison.Ordinal);
        Assert.DoesNotContain("chosen scale", statement, StringComparison.Ordinal);
        Assert.Equal(2, Demo.Figure(blank, "items that accept the blank state"));
        Assert.Contains("accepted inside", blank.Mend, StringComparison.Ordinal);
    }

    // Case 7. By hand: 13 × 5000 = 65 000 fits 65 535, 14 × 5000 = 70 000 does not and leaves 4464; 1023 × 5000 = 5 115 000 lies between 2^22 and 2^23.
    [Fact]
    public void ProductIn16Bits_FailsFromCount14_AndNeeds23Bits()
    {
        Finding overflow = Demo.Of(Case("07a-product-in-16-bits"), "arithmetic overflow");
        Assert.Equal(Outcome.NotMet, overflow.Outcome);
        Assert.Equal(14, Demo.Figure(overflow, "first failing code"));
        Assert.Equal(23, Demo.Figure(overflow, "bits needed"));
        Assert.Contains("70 000 becomes 4464", Demo.Plain(overflow.Statement), StringComparison.Ordinal);
        Assert.Contains("32 bits", Demo.Plain(overflow.Mend), StringComparison.Ordinal);
    }

    // By hand: 5000 / 1023 is 4 in whole numbers; 1 count is 4.8876 mV and shows 4, 1022 counts are 4995 mV and show 4088.
    [Fact]
    public void WholeQuotient_FailsFromTheFirstCount_AndGives4088At1022()
    {
        Finding rounding = Demo.Of(Case("07b-whole-quotient"), "arithmetic rounding");
        Assert.Equal(Outcome.NotMet, rounding.Outcome);
        Assert.Equal(1, Demo.Figure(rounding, "first failing code"));
        Assert.Equal(908, Demo.Figure(rounding, "greatest over the codes"), 0.5);
        Assert.Contains("Multiply first", rounding.Mend, StringComparison.Ordinal);

        using JsonDocument trace = JsonDocument.Parse(
            Invocation.OfWords(["firmware", PathOf("07b-whole-quotient"), "--code", "1022", "--json"], Engine.Default).Output);
        JsonElement last = trace.RootElement.GetProperty("firmware").GetProperty("numbers").EnumerateArray().Single(n => n.GetProperty("name").GetString() == "signal");
        Assert.Equal(4088, last.GetProperty("inWord").GetDouble());
    }

    // By hand: 24 × 4095 = 98 280 leaves 32 744, a mean of 1364; 24 × 2730 = 65 520 fits, 24 × 2731 does not; 65 535 / 4095 is 16.
    [Fact]
    public void SumIn16Bits_GivesAMeanOf1364_AndHolds16Readings()
    {
        Finding overflow = Demo.Of(Case("07c-sum-in-16-bits"), "arithmetic overflow");
        Assert.Equal(Outcome.NotMet, overflow.Outcome);
        Assert.Equal(2731, Demo.Figure(overflow, "first failing code"));
        Assert.Equal(16, Demo.Figure(overflow, "most readings that fit"));
        Assert.Equal(1364, Demo.Figure(overflow, "mean of the greatest code"));
        Assert.Contains("at most 16 fit", Demo.Plain(overflow.Statement), StringComparison.Ordinal);
    }

    // Case 8. Resistance of the element by IEC 60751; 2.0 Ω of wire.
    [Fact]
    public void TwoWirePt100_IsWrongByTheLeads_AtBothEnds()
    {
        Finding leads = Demo.Of(Case("08a-two-wires-pt100"), Influence);
        Assert.Equal(Outcome.NotMet, leads.Outcome);
        Assert.Equal(5.15, Demo.Figure(leads, "error at 20 °C"), 0.005);
        Assert.Equal(5.53, Demo.Figure(leads, "error at 250 °C"), 0.005);
        Assert.Equal(0.4, Math.Abs(Assert.Single(leads.Figures, f => f.Name.StartsWith("left after", StringComparison.Ordinal)).Value), 0.05);
        Assert.Contains("+5.15 °C", Demo.Plain(leads.Statement), StringComparison.Ordinal);
        Assert.Contains("+5.53 °C", Demo.Plain(leads.Statement), StringComparison.Ordinal);
        Assert.Contains("wires", Demo.Plain(leads.Mend), StringComparison.Ordinal);
    }

    [Fact]
    public void TwoWirePt1000_IsWrongByATenthOfIt()
    {
        Finding leads = Demo.Of(Case("08b-two-wires-pt1000"), Influence);
        Assert.Equal(Outcome.Met, leads.Outcome);
        Assert.Equal(0.5, Demo.Figure(leads, "error at 20 °C"), 0.05);
        Assert.Equal(0.55, Demo.Figure(leads, "error at 250 °C"), 0.05);
    }

    // Case 9. Expected from the reference function of IEC 60584-1 for type K, solved by bisection outside the program: at 200 °C with the terminals at
    // 35 °C the couple gives 6.731 mV. Assuming 25 °C makes 189.81 °C of it; adding the terminals' temperature to that of 6.731 mV makes 199.77 °C.
    [Theory]
    [InlineData("09a-terminals-assumed-at-25", -10.19)]
    [InlineData("09b-temperatures-added", -0.23)]
    public void Thermocouple_WithWarmTerminals_IsWrongBy(string name, double kelvin)
    {
        Finding terminals = Demo.Of(Case(name), Influence);
        Assert.Equal(Outcome.NotMet, terminals.Outcome);
        Assert.Equal(kelvin, Demo.Figure(terminals, "error at 200 °C"), 0.005);
        Assert.Contains(kelvin.ToString("0.0", CultureInfo.InvariantCulture).Replace('-', '−'), Demo.Plain(terminals.Statement), StringComparison.Ordinal);
    }

    // Case 10.
    [Fact]
    public void BridgeOnARailOfItsOwn_FollowsTheRail()
    {
        Finding rail = Demo.Of(Case("10a-own-reference"), Supplies);
        Assert.Equal(Outcome.NotMet, rail.Outcome);
        Assert.Equal("A5", rail.Subject);
        Assert.Equal(2.0, Math.Abs(Demo.Figure(rail, "shift of the reading")), 0.05);    // 2 % of 100 kg
        Assert.InRange(Demo.Figure(rail, "share of the budget"), 0.9, 1);
        Assert.Contains("% of the error budget", Demo.Plain(rail.Statement), StringComparison.Ordinal);
        Assert.Contains("ratiometric", Demo.Plain(rail.Mend), StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void RatiometricBridge_DoesNotFollowTheRail()
    {
        Finding rail = Demo.Of(Case("10b-ratiometric"), Supplies);
        Assert.Equal(Outcome.Met, rail.Outcome);
        Assert.Equal(0, Demo.Figure(rail, "shift of the reading"), 0.001);    // a hundredth of the display's step
    }

    // Case 11. (2.75 − 0.97) V / 16 mA = 111.25 Ω; 0.97 V − 4 mA × 111.25 Ω = 0.525 V.
    [Fact]
    public void SenseResistorWithoutOffset_NeedsOne_WithItsValue()
    {
        Review review = Case("11a-sense-resistor-without-offset");
        Finding output = Demo.Of(review, Intent, "output");
        Assert.Equal(Outcome.NotMet, output.Outcome);
        Assert.Equal(0.525, Demo.Figure(output, "intended voltage at no current"), 0.0005);
        Assert.Equal(111.25, Demo.Figure(output, "intended span as a resistance"), 0.005);
        Assert.Contains("offset", Demo.Plain(output.Mend), StringComparison.Ordinal);
        Assert.Contains("525 mV", Demo.Plain(output.Mend), StringComparison.Ordinal);
        Assert.Contains("111.25 Ω", Demo.Plain(output.Mend), StringComparison.Ordinal);

        // Without the offset 0.97 V make 8.719 mA and 2.75 V make 24.719 mA: the mistake is at both ends, and the loop says so too.
        Assert.Equal(0.97 / 111.25, Demo.Figure(output, "at 970 mV"), 5e-6);
        Assert.Equal(2.75 / 111.25, Demo.Figure(output, "at 2.75 V"), 5e-6);
        Assert.Equal(["loop follows the measurand (loop)", "stage does what its intent says (output)"], Demo.Named(review, Outcome.NotMet).Order(StringComparer.Ordinal));
    }

    [Fact]
    public void SenseResistorWithItsOffset_DoesWhatTheIntentSays()
    {
        Review review = Case("11b-sense-resistor-with-offset");
        Finding output = Demo.Of(review, Intent, "output");
        Assert.Equal(Outcome.Met, output.Outcome);
        Assert.Equal(4e-3, Demo.Figure(output, "at 970 mV"), 5e-6);
        Assert.Equal(20e-3, Demo.Figure(output, "at 2.75 V"), 5e-6);
        Assert.Empty(Demo.Named(review, Outcome.NotMet));
    }

    // (5 − 0.3) V / 250 Ω = 18.8 mA, (5 − 0.4) V / 250 Ω = 18.4 mA.
    [Fact]
    public void TwoHundredFiftyOhmOnFiveVolt_EndsBelowTwentyMilliampere()
    {
        Review review = Case("11c-compliance-on-5-volt");
        Finding compliance = Demo.Of(review, Compliance);
        Assert.Equal(Outcome.NotMet, compliance.Outcome);

        // 20 mA × 250 Ω + 0.4 V = 5.4 V would do it; nothing else of the stage is wrong.
        Assert.Contains("A5 of at least 5.4", Demo.Plain(compliance.Mend), StringComparison.Ordinal);
        Assert.Equal(Outcome.Met, Demo.Of(review, Intent, "output").Outcome);
        Assert.Contains("20 mA is needed", Demo.Plain(compliance.Statement), StringComparison.Ordinal);
        Assert.Equal(18.8e-3, Demo.Figure(compliance, "greatest controlled current, nominal"), 0.05e-3);
        Assert.Equal(18.4e-3, Demo.Figure(compliance, "greatest controlled current, worst case"), 0.05e-3);
    }

    // Case 12. (12 − 0.3) V / 600 Ω = 19.5 mA; 10.8 V: 17.5 mA; 22 mA × 600 Ω + 0.3 V = 13.5 V; 11.7 V / 22 mA − 100 Ω = 432 Ω.
    [Fact]
    public void TwelveVoltInto500Ohm_IsNotMet_WithBothWaysOut()
    {
        Review review = Case("12a-field-500-ohm");
        Finding compliance = Demo.Of(review, Compliance);
        Assert.Equal(Outcome.NotMet, compliance.Outcome);
        Assert.Equal(
            ["failure current distinct (loop)", "headroom at amplifier output (U1)", "loop compliance (loop)"], Demo.Named(review, Outcome.NotMet).Order(StringComparer.Ordinal));

        // (10.8 − 0.3) V / 22 mA − 100 Ω = 377 Ω for the lowest supply.
        Assert.Equal(377.3, Demo.Figure(compliance, "greatest load, worst case"), 1.0);
        Assert.Equal(22e-3, Demo.Figure(compliance, "needed current"), 1e-9);
        Assert.Equal(19.5e-3, Demo.Figure(compliance, "greatest controlled current, nominal"), 0.05e-3);
        Assert.Equal(17.5e-3, Demo.Figure(compliance, "greatest controlled current, worst case"), 0.05e-3);
        Assert.Equal(432, Demo.Figure(compliance, "greatest load, nominal"), 1.0);
        Assert.Equal(13.5, Demo.Figure(compliance, "loop supply needed"), 0.05);
        Assert.Contains("failure current of 21 mA is unreachable", Demo.Plain(compliance.Statement), StringComparison.Ordinal);
        Assert.Contains("A loop supply of at least 13.5 V, or a load of at most", Demo.Plain(compliance.Mend), StringComparison.Ordinal);
        Assert.Contains("432 Ω at stated supplies and parts", Demo.Plain(compliance.Mend), StringComparison.Ordinal);
    }

    // Sound: 12 V − 20 mA × 350 Ω = 5.0 V across the transistor, of which 0.3 V keep it out of saturation.
    [Fact]
    public void TwelveVoltInto250Ohm_IsMet()
    {
        Review review = Case("12b-bench-250-ohm");
        Assert.Empty(Demo.Named(review, Outcome.NotMet));
        Finding compliance = Demo.Of(review, Compliance);
        Assert.Equal(Outcome.Met, compliance.Outcome);
        Assert.Equal(4.7, Demo.Figure(compliance, "left at the end of the scale, nominal"), 0.05);

        // 12 V: 11.7 V / 350 Ω = 33.4 mA, 10.8 V: 30.0 mA; 22 mA × 350 Ω + 0.3 V = 8.0 V; 22 mA at 10.8 V leave 10.5 V − 7.7 V = 2.8 V.
        Assert.Equal(30e-3, Demo.Figure(compliance, "greatest controlled current, worst case"), 0.05e-3);
        Assert.Equal(8.0, Demo.Figure(compliance, "loop supply needed"), 0.02);
        Assert.Equal(2.8, Demo.Figure(compliance, "left, worst case"), 0.05);
    }

    // (V − 0.3 V) / (R + 100 Ω) in every corner of the map: the same law at other supplies and loads, for stated and for worst parts.
    [Fact]
    public void ComplianceMap_OfTheSink_IsOhmsLaw()
    {
        ComplianceMap map = Reviewer.Loop(InstrumentReader.ReadFile(PathOf("12a-field-500-ohm")).Value!)!.Map!;
        foreach (ComplianceLayer layer in map.Layers)
        {
            for (int i = 0; i < map.Supplies.Length; i++)
            {
                for (int j = 0; j < map.Loads.Length; j++)
                {
                    double law = (map.Supplies[i] - 0.3) / (map.Loads[j] + 100);
                    double read = map.At(layer, i, j);
                    Assert.True(read >= map.Top * 0.999 ? law >= map.Top * 0.99 : Math.Abs(read - law) <= 0.01 * law, $"{map.Supplies[i]} V, {map.Loads[j]} Ω: {read} A for {law} A");
                }
            }
        }
    }

    private static Review Case(string name) => Demo.Review("tests", "cases", name + ".yaml");

    private static string PathOf(string name) => Repository.PathOf("tests", "cases", name + ".yaml");
}
