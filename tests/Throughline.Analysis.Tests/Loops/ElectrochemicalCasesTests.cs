using System.Collections.Frozen;
using System.Globalization;
using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>The 67 worked cases of <c>data/electrochemistry/electrochemistry-circuits.csv</c>; each row names the published note it comes from.</summary>
public class ElectrochemicalCasesTests
{
    private static readonly PublishedTable Cases = PublishedTable.Read("electrochemistry", "electrochemistry-circuits.csv");

    private static double Glass(double ph, double celsius) => GlassElectrodeLaw.Potential(ph, celsius, 7, 1, 7);

    // K: an example firmware's calibration; X: a constructed one, with IUPAC values of the buffers at 20 °C.
    private static readonly ElectrodeCalibration K = ElectrodeCalibration.FromTwoPoints(4, 0.169534, 10, -0.134135, 25);

    private static readonly ElectrodeCalibration X = ElectrodeCalibration.FromTwoPoints(4.001, 0.1720, 6.881, 0.0040, 20);

    private static double BiasMillivolts(double amperes) => 1000 * ElectrodeInput.BiasError(amperes, 1e9);

    private static readonly FrozenDictionary<string, double[]> Answers = new Dictionary<string, double[]>
    {
        ["N1"] = [1000 * Nernst.Slope(0)],
        ["N2"] = [1000 * Nernst.Slope(25)],
        ["N3"] = [1000 * Nernst.Slope(100)],
        ["N4"] = [1000 * Math.Abs(Glass(14, 25))],
        ["N5"] = [1000 * Math.Abs(Glass(10, 25))],
        ["N6"] = [1000 * Math.Abs(Glass(0, 80))],
        ["N7"] = [-1 / (1000 * Nernst.Slope(25))],
        ["T1"] = [1000 * 1000 * PlatinumResistance.Ratio(0) * 210e-6],
        ["T2"] = [1000 * 1000 * PlatinumResistance.Ratio(100) * 210e-6],
        ["T3"] = [1000 * ElectrodeInput.BiasError(210e-6, 5e3)],
        ["F1"] = [ElectrodeInput.CornerFrequency(10e3, 1e-6)],
        ["Q1"] = [(GlassElectrodeLaw.Ph(-Glass(0, 25), 25, 7, 1, 7) - 0) / Math.ScaleB(1, 14)],
        ["B1"] = [BiasMillivolts(1e-12)],
        ["B2"] = [BiasMillivolts(0.2e-12)],
        ["K1"] = [-1000 * K.Slope],
        ["K2"] = [100 * K.RelativeSlope],
        ["K3"] = [K.ZeroPh],
        ["K4"] = [1000 * K.Potential(7)],
        ["A1"] = [1000 * (1.024 - ElectrodeInput.LoadingError(10e3, 10e3) * 1.024)],
        ["A2"] = [1000 * (0.512 + Glass(0, 25))],
        ["A3"] = [1000 * (0.512 + Glass(14, 25))],
        ["A4"] = [1000 * (0.512 + Glass(14, 100))],
        ["A5"] = [1000 * (1.024 - 2 * Glass(4, 25))],
        ["A6"] = [1000 * (1.024 - 2 * Glass(10, 25))],
        ["A7"] = [Math.ScaleB(14, -12)],
        ["B3"] = [1000 * BiasMillivolts(20e-15)],
        ["B4"] = [BiasMillivolts(900e-15)],
        ["B5"] = [BiasMillivolts(125e-15)],
        ["B6"] = [BiasMillivolts(445e-15)],
        ["B7"] = [BiasMillivolts(25e-15)],
        ["B8"] = [BiasMillivolts(2e-12)],
        ["B9"] = [BiasMillivolts(60e-15), BiasMillivolts(100e-15), BiasMillivolts(250e-15)],
        ["B10"] = [ElectrodeInput.LargestSource(-Glass(7.01, 25), 7e-12) / 1e6],
        ["V1"] = [7 - GlassElectrodeLaw.Ph(150e-6, 25, 7, 1, 7)],
        ["V2"] = [7 - GlassElectrodeLaw.Ph(200e-6, 25, 7, 1, 7)],
        ["V3"] = [7 - GlassElectrodeLaw.Ph(350e-6, 25, 7, 1, 7)],
        ["G1"] = [1 + 50e3 / 5.62e3],
        ["G2"] = [1 / Nernst.Slope(25)],
        ["G3"] = [1e6 * (Nernst.Slope(26) / Nernst.Slope(25) - 1)],
        ["G4"] = [1000 * ElectrodeInput.BiasError(4e-12, 100e6) * 3],
        ["P1"] = [1e12 * ElectrodeInput.LeakageCurrent(5, 1e12)],
        ["P2"] = [1e12 * ElectrodeInput.LeakageCurrent(5, 1e11)],
        ["P3"] = [1e12 * ElectrodeInput.LeakageCurrent(0.005, 1e11)],
        ["P4"] = [BiasMillivolts(ElectrodeInput.LeakageCurrent(5, 1e11))],
        ["Z1"] = [100 * ElectrodeInput.LoadingError(1, 100)],
        ["Z2"] = [100 * ElectrodeInput.LoadingError(1, 1000)],
        ["R1"] = [GlassElectrodeLaw.Resistance(100, 25 - (28 - 7), 7)],
        ["R2"] = [GlassElectrodeLaw.Resistance(100, 25 - (28 - 0), 7)],
        ["R3"] = [GlassElectrodeLaw.HalvingInterval(10, 25)],
        ["L1"] = [LoopSignals.Value(0.0113, 4, 10)],
        ["L2"] = [1000 * LoopSignals.Current(7, 0, 14)],
        ["L3"] = [1000 * (LoopSignals.Current(8, 0, 14) - LoopSignals.Current(7, 0, 14))],
        ["L4"] = [1000 * LoopSignals.AntilogarithmicCurrent(6, 4, 7)],
        ["L5"] = [1000 * LoopSignals.AntilogarithmicCurrent(6.5, 4, 7)],
        ["L6-12"] = [LoopSignals.LargestLoad(12, 9, 0.020)],
        ["L6-16"] = [LoopSignals.LargestLoad(16, 9, 0.020)],
        ["L6-20"] = [LoopSignals.LargestLoad(20, 9, 0.020)],
        ["L6-24"] = [LoopSignals.LargestLoad(24, 9, 0.020)],
        ["L7"] = [LoopSignals.SupplyNeeded(12, 0.020, 250)],
        ["L8"] = [1000 * LoopSignals.MeasuringLow],
        ["X1"] = [1000 * X.Slope],
        ["X2"] = [1000 * X.SlopeAt(25)],
        ["X3"] = [100 * X.RelativeSlope],
        ["X4"] = [X.ZeroPh],
        ["X5"] = [X.Ph(-0.100, 60, X.ZeroPh)],
        ["X5b"] = [X.Ph(-0.100, 60, 7)],
        ["X6"] = [X.Ph(-0.100, 20, 7)],
    }.ToFrozenDictionary();

    // Values in the middle between two digits and rounded from unrounded figures may fall either way.
    private static double HalfDigit(string text)
    {
        int point = text.IndexOf('.', StringComparison.Ordinal);
        return 0.5001 * Math.Pow(10, point < 0 ? 0 : -(text.Length - point - 1));
    }

    private static double Parse(string text) => double.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture);

    [Fact]
    public void EveryCase_IsAnswered()
    {
        Assert.Equal(67, Cases.Rows.Length);
        Assert.Equal(Cases.Rows.Select(r => r["id"]).Order(StringComparer.Ordinal), Answers.Keys.Order(StringComparer.Ordinal));
    }

    [Fact] // Worked out independently, to the digits of the column
    public void EveryCase_GivesTheRecomputedAnswer() => Assert.All(Cases.Rows, row =>
    {
        double[] answers = Answers[row["id"]];
        string[] expected = row["recomputed"].TrimStart('<').Split(" / ");
        Assert.Equal(expected.Length, answers.Length);
        Assert.All(expected.Zip(answers), pair => Assert.Equal(
            Parse(pair.First), pair.Second, HalfDigit(pair.First) + (row["id"] == "G3" ? 0.001 : 0)));
    });

    [Fact] // The note's own printed answer, where it prints one
    public void EveryStatedAnswer_IsMet()
    {
        PublishedRow[] stated = [.. Cases.Rows.Where(r => r["stated_answer"].Length > 0)];
        Assert.Equal(25, stated.Length);
        Assert.All(stated, row =>
        {
            double answer = Answers[row["id"]][0];
            switch (row["id"])
            {
                case "L8":
                    // A statement: the electronics of a two-wire transmitter live below the least valid current, which is 3.8 mA.
                    Assert.Equal("<3.8", row["stated_answer"]);
                    Assert.Equal(LoopState.UnderRange, LoopSignals.Classify(answer / 1000));
                    break;
                case "G1":
                    // Nominal 10; the true gain is 1 % below.
                    Assert.Equal(10, answer, 0.11);
                    break;
                case "G3":
                    // 3300 ppm/K of a probe and 3500 ppm/K of a resistor enclose the ideal.
                    Assert.InRange(answer, 3300, 3500);
                    break;
                case "N7":
                    // The manual inverts the slope as rounded to 59.16.
                    Assert.Equal(Parse(row["stated_answer"]), -1 / Math.Round(-1 / answer, 2), HalfDigit(row["stated_answer"]));
                    break;
                default:
                    // N2 (59.15), T2 (290) and A7 (0.003) are cut off instead of rounded, and 177 is 177.48: a whole digit.
                    bool cut = row["id"] is "N2" or "T2" or "A7" or "N6";
                    Assert.Equal(Parse(row["stated_answer"]), answer, (cut ? 2 : 1) * HalfDigit(row["stated_answer"]));
                    break;
            }
        });
    }
}
