using System.Text.Json;
using CsCheck;
using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

public class LoopSignalsTests
{
    private static readonly JsonElement Signals = Read("loop-signals.json");
    private static readonly JsonElement Examples = Read("loop-examples.json");
    private static readonly JsonElement WireTemperature = Read("loop-wire-temperature.json");

    private static JsonElement Read(string file) => JsonDocument.Parse(File.ReadAllText(Repository.PathOf("data", "loop", file))).RootElement;

    private static double Number(JsonElement element, string name) => element.GetProperty(name).GetDouble();

    [Fact] // NAMUR NE 43 as six published pages restate it; per cent and the voltage over 250 Ω worked out
    public void Classify_OfEveryPublishedCurrent_IsItsState()
    {
        JsonElement[] rows = [.. Signals.GetProperty("classify_test").EnumerateArray()];
        Assert.Equal(19, rows.Length);
        Assert.All(rows, row =>
        {
            double amperes = Number(row, "mA") / 1000;
            LoopState expected = row.GetProperty("state").GetString() switch
            {
                "fail low / broken wire" or "fail low" => LoopState.FailureLow,
                "fail high" => LoopState.FailureHigh,
                "undefined" => LoopState.Undecided,
                "valid, under-range" => LoopState.UnderRange,
                "valid, over-range" => LoopState.OverRange,
                "valid" or "valid 0 %" or "valid 100 %" => LoopState.Measuring,
                var other => throw new InvalidOperationException(other),
            };
            Assert.Equal(expected, LoopSignals.Classify(amperes));
            Assert.Equal(Number(row, "pct"), 100 * LoopSignals.Fraction(amperes), 1e-9);
            Assert.Equal(Number(row, "V_250"), LoopSignals.SupplyNeeded(0, amperes, 250), 1e-9);
        });
    }

    [Fact]
    public void Limits_AreThoseOfNe43()
    {
        JsonElement ne43 = Signals.GetProperty("ne43");
        Assert.Equal(ne43.GetProperty("measuring_mA").EnumerateArray().Select(v => v.GetDouble()), [LoopSignals.MeasuringLow * 1000, LoopSignals.MeasuringHigh * 1000]);
        Assert.Equal(LoopSignals.FailureLow * 1000, Number(ne43, "fail_low_mA_max"), 1e-12);
        Assert.Equal(LoopSignals.FailureHigh * 1000, Number(ne43, "fail_high_mA_min"), 1e-12);
        foreach (JsonElement band in ne43.GetProperty("dead_bands_mA").EnumerateArray())
        {
            Assert.Equal(LoopState.Undecided, LoopSignals.Classify((band[0].GetDouble() + band[1].GetDouble()) / 2000));
        }

        Assert.Equal(LoopState.Undecided, LoopSignals.Classify(double.NaN));
    }

    [Theory] // Worked examples of the scale: 40 and 60 %
    [InlineData(0.0104, 0.4)]
    [InlineData(0.0136, 0.6)]
    public void Fraction_OfWorkedExample_Matches(double amperes, double fraction) => Assert.Equal(fraction, LoopSignals.Fraction(amperes), 1e-12);

    [Fact] // Property: the scale and its reverse
    public void Value_OfCurrent_IsTheValue() => Gen.Select(Gen.Double[-100, 100], Gen.Double[-50, 50], Gen.Double[0.1, 80])
        .Sample((value, lower, span) => Math.Abs(LoopSignals.Value(LoopSignals.Current(value, lower, lower + span), lower, lower + span) - value) < 1e-9);

    [Fact] // Published load formulas, (24 − 12)/0.022 and the like, printed to 0.01 Ω. One maker's chart wants 250 Ω at 17.5 V where its own formula gives 239
    public void LargestLoad_OfEveryCase_MatchesTheFormula()
    {
        JsonElement[] cases = [.. Examples.GetProperty("cases").EnumerateArray()];
        Assert.Equal(6, cases.Length);
        Assert.All(cases, c => Assert.Equal(
            Number(c, "R_ohm"), LoopSignals.LargestLoad(Number(c, "V"), Number(c, "lift"), Number(c, "I_mA") / 1000), 0.00501));
        Assert.Equal(17.75, LoopSignals.SupplyNeeded(12, 0.023, 250), 1e-12);
    }

    [Fact] // A maker's manual: the lift-off voltage falls as the current rises, so both ends count
    public void SupplyNeeded_AtBothEnds_IsTheGreater()
    {
        JsonElement check = Examples.GetProperty("two_end_check");
        double ohms = Number(check, "R_ohm");
        double high = LoopSignals.SupplyNeeded(Number(check.GetProperty("at_22mA"), "lift"), 0.022, ohms);
        double low = LoopSignals.SupplyNeeded(Number(check.GetProperty("at_4mA"), "lift"), 0.004, ohms);
        Assert.Equal(Number(check.GetProperty("at_22mA"), "V_needed"), high, 1e-12);
        Assert.Equal(Number(check.GetProperty("at_4mA"), "V_needed"), low, 1e-12);
        Assert.Equal(Number(check, "answer_V"), Math.Max(high, low), 1e-12);
    }

    [Fact] // 500 m of 0.75 mm² class 5 and a receiver of 250 Ω on 24 V − 5 %
    public void Budget_OfAWholeLoop_Matches()
    {
        JsonElement budget = Examples.GetProperty("full_budget");
        double wire = 2 * 500 * CopperWire.MaximumPerMetre(0.75, flexible: true);
        double amperes = Number(budget, "I_mA") / 1000;
        double drop = LoopSignals.SupplyNeeded(0, amperes, Number(budget, "receiver_ohm") + wire);
        Assert.Equal(Number(budget, "wire_ohm"), wire, 1e-9);
        Assert.Equal(Number(budget, "drop_V"), drop, 1e-9);
        Assert.Equal(Number(budget, "left_for_device_V"), Number(budget, "V_supply_min") - drop, 1e-9);
    }

    [Fact] // 24 V into a short at 22 mA: 0.528 W (worked example)
    public void OutputDissipation_IntoAShort_Matches() => Assert.Equal(0.528, LoopSignals.OutputDissipation(24, 0.022, 0), 1e-12);

    [Fact] // Converter steps, printed to five digits
    public void Step_OfEveryConverter_Matches()
    {
        JsonElement[] rows = [.. Examples.GetProperty("dac").EnumerateArray()];
        Assert.Equal(3, rows.Length);
        Assert.All(rows, row =>
        {
            double step = LoopSignals.Step(Number(row, "span_mA") / 1000, row.GetProperty("bits").GetInt32());
            Assert.Equal(Number(row, "lsb_uA"), 1e6 * step, 5e-5);
            Assert.Equal(Number(row, "pct_of_16mA"), 100 * step / (LoopSignals.ScaleHigh - LoopSignals.ScaleLow), 5e-6);
        });
    }

    [Theory] // Worked: 24 V over 10 MΩ and 1 GΩ of barrier, and 1 V of ground difference over 250 Ω
    [InlineData(24, 10e6, 2.4e-6, 0.00015)]
    [InlineData(24, 1e9, 24e-9, 0.0000015)]
    [InlineData(1, 250, 0.004, 0.25)]
    public void Leakage_OverABarrier_Matches(double volts, double ohms, double amperes, double ofSpan)
    {
        double leakage = ElectrodeInput.LeakageCurrent(volts, ohms);
        Assert.Equal(amperes, leakage, 1e-12);
        Assert.Equal(ofSpan, LoopSignals.Fraction(LoopSignals.ScaleLow + leakage), 1e-9);
    }

    [Fact] // Receiver of 250 Ω: 1 and 5 V; 0.1 % of it is 0.125 % of span at 20 mA
    public void Receiver_OfAQuarterKilohm_Matches()
    {
        JsonElement receiver = Examples.GetProperty("receiver");
        double ohms = Number(receiver, "ohm");
        double[] volts = [.. receiver.GetProperty("V").EnumerateArray().Select(v => v.GetDouble())];
        Assert.Equal(volts[0], LoopSignals.ScaleLow * ohms, 1e-12);
        Assert.Equal(volts[1], LoopSignals.ScaleHigh * ohms, 1e-12);
        Assert.Equal(0.00125, LoopSignals.Fraction(LoopSignals.ScaleHigh * 1.001) - 1, 1e-12);
    }

    [Fact] // IEC 60228:2004 tables 1 to 4 (four copies agree), and the drop of a pair of class 5 at 22 mA, worked. Areas below 0.5 mm² are one maker's and
           // not in the standard, so they are not offered
    public void MaximumPerMetre_OfEveryCrossSection_MatchesIec60228()
    {
        PublishedTable table = PublishedTable.Read("loop", "loop-wire-resistance.csv");
        Assert.Equal(13, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            double area = row.Number("area_mm2");
            double flexible = CopperWire.MaximumPerMetre(area, flexible: true);
            if (area < 0.5)
            {
                Assert.Equal(double.NaN, flexible);
                return;
            }

            Assert.Equal(row.Number("class1_2_plain_ohm_per_km"), 1000 * CopperWire.MaximumPerMetre(area, flexible: false), 1e-9);
            Assert.Equal(row.Number("class5_6_plain_ohm_per_km"), 1000 * flexible, 1e-9);
            Assert.Equal(row.Number("pair_class5_plain_ohm_per_km"), 2000 * flexible, 1e-9);
            Assert.Equal(row.Number("drop_V_per_km_pair_at_22mA_class5"), LoopSignals.SupplyNeeded(0, 0.022, 2000 * flexible), row.HalfDigit("drop_V_per_km_pair_at_22mA_class5"));
        });
        Assert.Equal(table.Rows.Select(r => r.Number("area_mm2")).Where(a => a >= 0.5), CopperWire.StandardSections);
    }

    [Fact] // Copper, (234.5 + t)/254.5, printed to five digits; the annex of IEC 60228 rounds the coefficient to 0.004 /K, which the column kt_calc shows
    public void TemperatureFactor_AtEveryPoint_Matches()
    {
        JsonElement[] factors = [.. WireTemperature.GetProperty("kt").EnumerateArray()], ratios = [.. WireTemperature.GetProperty("ratio").EnumerateArray()];
        Assert.Equal((12, 8), (factors.Length, ratios.Length));
        Assert.All(ratios, row => Assert.Equal(Number(row, "R_over_R20"), CopperWire.TemperatureFactor(Number(row, "t")), 5.1e-6));
        Assert.All(factors, row =>
        {
            double celsius = Number(row, "t"), factor = CopperWire.TemperatureFactor(celsius);
            Assert.Equal(Number(row, "exact"), 1 / factor, 5.1e-5);

            // The rounded coefficient differs by 0.00007 per kelvin: 0.0056 over 80 K at most, and half a digit of print.
            Assert.Equal(Number(row, "kt_stored"), 1 / factor, 0.00007 * Math.Abs(celsius - 20) + 0.0006);
        });
        Assert.Equal(double.NaN, CopperWire.TemperatureFactor(-235));
    }
}
