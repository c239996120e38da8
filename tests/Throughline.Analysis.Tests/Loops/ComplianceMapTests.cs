using System.Diagnostics;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

public class ComplianceMapTests
{
    private static LoopReport Report(string text, params double[] amperes) => Reviewer.Loop(Sketch.Read(text), amperes)!;

    // Load limit R = (V − V_lift-off) / I of published transmitter manuals (loop-examples.json), with the lift-off worked by Ohm's law: 0.3 V + I · 100 Ω. The
    // allowed load effect is 0.1 % of span, 16 µA, and a cell is found to 1e-4 of itself.
    [Fact]
    public void EveryCell_OfASink_IsWhatOhmsLawAllows()
    {
        ComplianceMap map = Report(LoopSketch.Sink()).Map!;
        Assert.Equal("loop supply", map.SupplyName);
        Assert.Equal((20, 20), (map.Loads.Length, map.Supplies.Length));
        ComplianceLayer stated = map.Layers[0];
        int limited = 0;
        for (int row = 0; row < map.Supplies.Length; row++)
        {
            for (int column = 0; column < map.Loads.Length; column++)
            {
                double possible = (map.Supplies[row] - 0.3) / (map.Loads[column] + 100);
                limited += possible < map.Top ? 1 : 0;
                Assert.Equal(Math.Min(possible, map.Top), map.At(stated, row, column), 25e-6);
            }

            double load = LoopSignals.LargestLoad(map.Supplies[row], 0.3 + (map.Needed * 100), map.Needed);
            Assert.Equal(Math.Max(0, load), stated.HardestLoads[row], 7.5e-4 * (Math.Max(load, 0) + 100));    // the allowed load effect of 16 µA in 22 mA
        }

        // A map that shows nothing but its top would pass the loop above.
        Assert.InRange(limited, 50, 399);
        Assert.InRange(map.RatedSupply.Low, map.Supplies[0], map.Supplies[^1]);
    }

    [Fact] // 22 mA through 250 Ω and 100 Ω, and 0.3 V: 8.0 V. By Ohm's law
    public void Compliance_OfASink_SaysLoadAndSupply()
    {
        Compliance compliance = Report(LoopSketch.Sink()).Compliance!;
        Assert.True(compliance.IsMet);
        Assert.Equal(0.022, compliance.Needed, 1e-12);
        Assert.Equal(((24 - 0.3) / 0.022) - 100, compliance.LoadNominal, 1.0);
        Assert.Equal(((21.6 - 0.3) / 0.022) - 100, compliance.LoadWorst, 1.0);
        Assert.Equal(8.0, compliance.SupplyNeeded, 0.01);
    }

    [Fact] // Property: more load never passes more, more supply never less
    public void Cells_FallWithLoad_AndRiseWithSupply()
    {
        foreach (string demo in new[] { "nutrient-ph", "cold-store-pt100" })
        {
            ComplianceMap map = Reviewer.Loop(InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml")).Value!)!.Map!;
            foreach (ComplianceLayer layer in map.Layers)
            {
                for (int row = 0; row < map.Supplies.Length; row++)
                {
                    for (int column = 1; column < map.Loads.Length; column++)
                    {
                        Assert.True(map.At(layer, row, column) <= map.At(layer, row, column - 1) * 1.0005, $"{demo} {layer.Name} {row} {column}");
                    }
                }

                Assert.Equal(layer.HardestLoads.Order(), layer.HardestLoads.AsEnumerable(), (a, b) => Math.Abs(a - b) <= 1e-3 * Math.Max(a, 1));
            }
        }
    }

    [Fact] // A page that is redrawn at an edit: a map of 20 × 20 in less than a second for each of its layers
    public void Build_OfTheDemo_IsFastEnough()
    {
        Evaluator evaluator = new(Model.Compile(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml")).Value!));
        CheckContext context = new(evaluator);
        Assert.NotNull(context.Compliance);
        ComplianceMapBuilder builder = new(context);
        Assert.NotNull(builder.Build());
        TimeSpan before = Process.GetCurrentProcess().TotalProcessorTime;
        int layers = builder.Build()!.Layers.Length;
        double seconds = (Process.GetCurrentProcess().TotalProcessorTime - before).TotalSeconds;
        Assert.InRange(seconds / layers, 0, 1);
    }

    [Fact] // The scale of the worked examples of loop-signals.json: 10.4 mA are 40 %, 13.6 mA 60 %; states by NE 43
    public void Scale_ReadsBothWays()
    {
        LoopReport report = Report(LoopSketch.Sink(), 0.0104, 0.0136, 0.0215, 0.0036, 0.0207);
        Assert.Equal([40, 60], report.Asked.Take(2).Select(r => Math.Round(r.Measurand, 9)));
        Assert.Equal([0.4, 0.6], report.Asked.Take(2).Select(r => Math.Round(r.Percent, 12)));
        Assert.Equal([LoopState.FailureHigh, LoopState.FailureLow, LoopState.Undecided], report.Asked.Skip(2).Select(r => r.State));
        Assert.Equal(report.Scale.Select(r => r.Value).Order(), report.Scale.Select(r => r.Value));
        Assert.Equal(["test from", "under", "0 %", "25 %", "50 %", "75 %", "100 %", "over", "failure", "test to"], report.Scale.Select(r => r.Name.Replace('\u202F', ' ')));

        // 12 mA: 1.2 V over 100 Ω; 2^14 codes for 2.5 V.
        LoopScaleRow middle = report.Scale.Single(r => r.Name.StartsWith("50", StringComparison.Ordinal));
        Assert.Equal(1.2, middle.DriveVolts, 1e-9);
        Assert.Equal(1.2 / 2.5 * 16384, middle.Code, 1e-6);
        Assert.Equal(3.0, middle.ReceiverVolts, 1e-9);
    }

    // R = (V − V_lift-off) / I of published transmitter manuals (loop-examples.json): what the finding of the lift-off voltage leaves over at the rated load is what more load may take.
    [Fact]
    public void GreatestLoad_OfTwoWires_LeavesTheLiftOffVoltage()
    {
        Review review = Reviewer.Review(InstrumentReader.ReadFile(Repository.PathOf("demo", "loop-powered-level", "instrument.yaml")).Value!);
        double Figure(string check, string name) => Assert.Single(Assert.Single(review.Findings, f => f.Check == check).Figures, f => f.Name == name).Value;
        double over = Figure("lift-off voltage", "left") - Figure("lift-off voltage", "lift-off");
        double more = over / Figure("lift-off voltage", "greatest current");
        Assert.Equal(400 + more, Figure("loop compliance", "greatest load, worst case"), 3.0);
        Assert.Equal(over, Figure("loop compliance", "left, worst case"), 0.05);
    }
}
