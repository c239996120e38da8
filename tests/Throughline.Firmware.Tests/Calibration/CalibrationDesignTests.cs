using System.Collections.Immutable;
using Throughline.Analysis;
using Xunit;

namespace Throughline.Firmware.Tests.Calibration;

public sealed class CalibrationDesignTests
{
    private const int Takings = 4000;

    public static TheoryData<string> Instruments => [.. CalibrationSketches.All];

    private static CalibrationDesign Of(string name)
    {
        CalibrationDesign design = CalibrationDesign.Of(CalibrationSketches.Named(name))!;
        Assert.Null(design.Trouble);
        return design;
    }

    [Theory] // Property: what interval arithmetic proves holds of every taking, and numbers of any size are those in words
    [MemberData(nameof(Instruments))]
    public void Program_OfThousandsOfTakings_StaysInTheRangesThatAreProved(string name)
    {
        CalibrationDesign design = Of(name);
        Assert.True(design.IsSound, string.Join(", ", design.Program.Nodes.Where(n => !n.Fits).Select(n => n.Name)));
        Int128[] exact = new Int128[design.Program.Nodes.Count];
        Int128[] inWords = new Int128[exact.Length];
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(design, 7).Take(Takings))
        {
            Assert.True(design.Run(inputs, exact, inWords: false));
            Assert.True(design.Run(inputs, inWords, inWords: true));
            Assert.Equal(exact, inWords);
            Assert.All(design.Program.Nodes, n => Assert.True(exact[n.Index] >= n.Low && exact[n.Index] <= n.High, n.Name));
        }
    }

    [Theory] // Property: the kept numbers against least squares in exact fractions; the limits are the proved bounds of their rounding
    [MemberData(nameof(Instruments))]
    public void Judge_OfAcceptedTakings_IsTheExactLineWithinTheProvedRounding(string name)
    {
        CalibrationDesign design = Of(name);
        int accepted = 0;
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(design, 3).Take(Takings))
        {
            CalibrationResult result = design.Judge(inputs);
            if (!result.IsAccepted)
            {
                continue;
            }

            accepted++;
            (double offset, double gain) = Exact(design, inputs);
            double kept = design.Arithmetic.CalibratesSignal ? 1 / gain : gain;
            Assert.Equal(offset, result.Found.Zero * design.KeptZero.Step, design.KeptZero.Error + (2 * design.KeptZero.Step));
            if (design.KeptGain is { } g)
            {
                Assert.Equal(kept - 1, result.Found.Gain * g.Step, g.Error + (2 * g.Step));
            }
        }

        Assert.True(accepted > Takings / 20, $"{accepted} accepted");
    }

    [Theory] // Property: what is off at a reading stays below the bound that is stated of it
    [MemberData(nameof(Instruments))]
    public void Bound_OverThousandsOfTakings_IsNeverPassed(string name)
    {
        CalibrationDesign design = Of(name);
        CalibrationProof proof = CalibrationProof.Of(design);
        Assert.True(proof.Worst <= design.Bound + 1e-12, $"{proof.Worst} > {design.Bound}");
        Assert.True(proof.TakingsAccepted > 20);
    }

    [Theory] // Property: accepted and refused as by the exact computation, except where that lies within the rounding of a limit
    [MemberData(nameof(Instruments))]
    public void Judge_OfEveryTaking_AgreesWithTheExactVerdictAwayFromTheLimits(string name)
    {
        CalibrationDesign design = Of(name);
        int[] seen = new int[16];
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        foreach (CalibrationInputs inputs in CalibrationTakings.Random(design, 11).Take(Takings))
        {
            CalibrationResult result = design.Judge(inputs);
            seen[(int)result.Refusal]++;
            if ((result.Refusal & CalibrationRefusal.TooNear) != 0 || inputs.Temperature.Distinct().Count() > 1 && design.Points > 2)
            {
                continue;
            }

            Assert.True(design.Run(inputs, numbers, inWords: true));
            if (design.Scatter.Any(s => Int128.Abs(numbers[s.Off.Index]) > s.Most))
            {
                Assert.True(result.Refusal.HasFlag(CalibrationRefusal.Slope));
                continue;
            }

            (double offset, double gain) = Exact(design, inputs);
            CalibrationOutcome outcome = Judged(design, offset, gain);
            (double low, double high) = design.Law.AcceptedSlope;
            const double SlopeRounding = 0.001;
            if (design.Points > 1 && !(Math.Abs(outcome.Slope - low) < SlopeRounding || Math.Abs(outcome.Slope - high) < SlopeRounding) && outcome.Slope > 0.6 && outcome.Slope < 1.6)
            {
                Assert.Equal(outcome.Slope < low || outcome.Slope > high, (result.Refusal & CalibrationRefusal.Slope) != 0);

                // Two steps of what is shown; of many standards that do not lie on one line the weights' own rounding adds as much.
                Assert.Equal(outcome.Slope, result.Slope * CalibrationDesign.SlopeStep, design.Points > 2 ? 0.004 : 0.002);
            }

            double room = design.Law.AcceptedZero * 0.02;
            bool isNear = Math.Abs(Math.Abs(outcome.Zero) - design.Law.AcceptedZero) < room + (result.Refusal.HasFlag(CalibrationRefusal.Slope) ? design.RoughZero.Error * 2 : 0);
            if (!isNear && (design.Points == 1 || (outcome.Slope > 0.6 && outcome.Slope < 1.6)))
            {
                Assert.Equal(Math.Abs(outcome.Zero) > design.Law.AcceptedZero, (result.Refusal & CalibrationRefusal.Zero) != 0);
            }
        }

        Assert.True(seen[0] > 0 && seen[(int)CalibrationRefusal.Zero] > 0, string.Join(" ", seen));
        Assert.True(design.Points == 1 || (seen[(int)CalibrationRefusal.Slope] > 0 && seen[3] > 0), string.Join(" ", seen));
        Assert.Equal(design.Apart > 0, seen[(int)CalibrationRefusal.TooNear] > 0);
    }

    [Theory] // Fact: the exact computation of the tests is that of the analysis, which handbook cases hold to (tests of Throughline.Analysis)
    [InlineData("nutrient-ph")]
    [InlineData("three buffers")]
    [InlineData("three weights")]
    [InlineData("ice and steam")]
    [InlineData("cold-store-pt100")]
    public void Exact_OfOneTemperature_IsTheFitOfTheAnalysis(string name)
    {
        CalibrationDesign design = Of(name);
        foreach (CalibrationInputs random in CalibrationTakings.Random(design, 5).Take(200))
        {
            CalibrationInputs inputs = random with { Temperature = [.. random.Temperature.Select(_ => random.Temperature[0])] };
            double celsius = design.Temperatures.IsEmpty ? 25 : inputs.Temperature[0] * 0.01;
            double pivot = design.Law.Instrument.Sensor.ZeroSignal ?? 0;
            double[] signals = [.. inputs.Taken.Select(u => design.Arithmetic.CalibratesSignal
                ? pivot + (u * design.Arithmetic.Uncalibrated.Step)
                : design.Law.Instrument.Sensor.NominalSignal(u * design.Arithmetic.Uncalibrated.Step, celsius))];
            double[] values = [.. Enumerable.Range(0, design.Points).Select(i => design.ExactValue(i, inputs.Entered[i], inputs.Temperature[i]))];
            CalibrationOutcome outcome = design.Law.Fit(signals, values, celsius);
            if (outcome.Verdict == CalibrationVerdict.Impossible)
            {
                continue;
            }

            (double offset, double gain) = Exact(design, inputs);
            if (!double.IsFinite(gain))
            {
                continue;
            }

            Assert.Equal(outcome.Line.Gain, gain, 1e-6 * Math.Max(1, Math.Abs(gain)));
            Assert.Equal(outcome.Line.Offset, offset, 1e-6 * Math.Max(design.Law.AcceptedZero, Math.Abs(offset)));
        }
    }

    [Fact] // Fact: numpy 1.24 polyfit([3.10, 398.70, 803.40], [0, 400, 800], 1)
    public void Judge_OfThreeWeights_KeepsTheLineOfAReferenceLibrary()
    {
        CalibrationDesign design = Of("three weights in 64 bits");
        Assert.True(design.IsSound);
        Assert.True(design.Bound < design.Allowed, $"{design.Bound} kg where {design.Allowed} kg are allowed");
        long Steps(double kilograms) => (long)Math.Round(kilograms / design.Arithmetic.Uncalibrated.Step);
        CalibrationResult result = design.Judge(new CalibrationInputs([.. design.Standards.Select(s => s.Stated)], [0, 0, 0], [Steps(3.10), Steps(398.70), Steps(803.40)]));
        Assert.True(result.IsAccepted);
        Assert.Equal(0.999582060706, 1 + (result.Found.Gain * design.KeptGain!.Step), design.KeptGain.Error);
        Assert.Equal(-1.565433187511, result.Found.Zero * design.KeptZero.Step, design.KeptZero.Error);

        // The same as the trade says it: 1 / gain, and what the uncalibrated instrument shows at zero.
        Assert.Equal(1000, result.Slope);
        Assert.Equal(1.566087717, result.Zero * design.ZeroStep, 0.05);
    }

    [Theory] // Property: the bound holds for standards beside their line, and is not beyond reason
    [InlineData("three weights")]
    [InlineData("three weights in 64 bits")]
    [InlineData("three buffers")]
    [InlineData("five buffers")]
    public void Ratio_OfStandardsBesideTheirLine_IsWithinItsBoundOfExactLeastSquares(string name)
    {
        CalibrationDesign design = Of(name);
        Node ratio = design.Ratio!;
        double step = design.Arithmetic.Uncalibrated.Step;
        RepeatedNumbers random = new(7);
        double Unit() => random.Between(0, 1 << 30) / (double)(1 << 30);
        Int128[] numbers = new Int128[design.Program.Nodes.Count];
        (double least, double greatest) = design.Law.AcceptedSlope;
        double nominal = design.Arithmetic.CalibratesSignal ? design.Law.Instrument.Sensor.NominalSlope : 1;
        double worst = 0;
        int accepted = 0;
        for (int n = 0; n < 20000; n++)
        {
            double slope = (least + (Unit() * (greatest - least))) / nominal;
            CalibrationLine line = new(0, design.DividesByReadings ? 1 / slope : slope);
            long[] entered = [.. design.Standards.Select(s => s.Low + (long)(Unit() * (s.High - s.Low)))];
            long celsius = design.Temperatures.IsEmpty ? 0 : (long)design.Temperatures[0].Low + (long)(Unit() * (double)(design.Temperatures[0].High - design.Temperatures[0].Low));
            double beside = Unit() * (double)design.Scatter[0].Most;
            long[] taken = [.. entered.Select((e, i) => (long)Int128.Clamp(
                (Int128)Math.Round(design.ExactTaken(line, i, e, celsius) + (beside * ((2 * Unit()) - 1))), design.Taken[i].Low, design.Taken[i].High))];
            CalibrationInputs inputs = new([.. entered], [.. entered.Select(_ => celsius)], [.. taken]);
            CalibrationResult result = design.Judge(inputs);
            if (result.Refusal.HasFlag(CalibrationRefusal.Slope) || result.Refusal.HasFlag(CalibrationRefusal.TooNear))
            {
                continue;
            }

            accepted++;
            design.Run(inputs, numbers, inWords: true);
            double[] target = [.. entered.Select((e, i) => design.ExactTarget(i, e, celsius) / step)];
            double[] reading = [.. taken.Select(t => (double)t)];
            (double[] x, double[] y) = design.DividesByReadings ? (reading, target) : (target, reading);
            (double meanX, double meanY) = (x.Average(), y.Average());
            double exact = (x.Zip(y).Sum(p => (p.First - meanX) * (p.Second - meanY)) / x.Sum(v => (v - meanX) * (v - meanX))) - 1;
            double off = Math.Abs(((double)numbers[ratio.Index] * ratio.Step) - exact);
            Assert.True(off <= ratio.Error, $"{off} where {ratio.Error} is the bound");
            worst = Math.Max(worst, off / ratio.Error);
        }

        Assert.InRange(accepted, 1000, 20000);
        Assert.InRange(worst, 1.0 / 250, 1);
    }

    [Fact] // Property: without words for it the check says which ones
    public void Check_OfThreeWeightsIn32Bits_NamesTheWordsThatMendIt()
    {
        Finding finding = Assert.Single(new FirmwareChecks().Run(CalibrationSketches.Named("three weights")), f => f.Check == "calibration rounding");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Contains("product: 64 bit", finding.Mend, StringComparison.Ordinal);
    }

    [Theory] // Fact: case 5 of the project's cases from practice; slopes 98.0, 98.6 and 81.7 %, zeros −38.4, −15 and +15 mV at 25 °C
    [InlineData(7.00, -38.39, 4.00, 135.61, 980, -38.39, CalibrationRefusal.Zero)]
    [InlineData(7.01, -15, 4.01, 160, 986, -15, CalibrationRefusal.None)]
    [InlineData(7.01, 15, 4.01, 160, 817, 15, CalibrationRefusal.Slope)]
    public void Judge_OfTheLineThatFits_SaysWhatTheElectrodeIs(double first, double firstMillivolts, double second, double secondMillivolts, long slope, double zero, CalibrationRefusal refusal)
    {
        // The zero is counted at the neutral buffer, as the case does: the sensor's nominal zero is that buffer.
        string neutral = first.ToString(System.Globalization.CultureInfo.InvariantCulture);
        CalibrationDesign design = CalibrationDesign.Of(Arithmetic.Sketches.Read($$"""
            instrument: Case
            specification: { measurand: pH, range: 2.00 .. 12.00, display: { step: 0.01, error: ±0.10 } }
            sensor: { kind: glass electrode, zero: {{neutral}} ±0.3 pH, slope: 100 %, resistance: 100 MΩ, between: [probe, bias] }
            supplies:
              A5: { kind: dc, voltage: 5.0 V, return: 0V }
            stages:
              - input:
                  parts:
                    VREF: { reference: 1.024 V, between: [bias, 0V] }
                    U1:   { op amp: cmos low bias, plus: probe, minus: follower, out: follower, supply: [A5, 0V] }
                  from: [probe, bias]
                  to: follower
                  intent: { 0 mV: 1.024 V ±2 mV, 200 mV: 1.224 V ±2 mV }
              - reading: { kind: adc, input: follower, bits: 16, reference: 2.048 V }
              - arithmetic: { from: reading, to: measurand, calibration: two-point }
            calibration: { buffers: { first: {{neutral}}, second: {{second.ToString(System.Globalization.CultureInfo.InvariantCulture)}}, family: constant }, accept: { slope: 85 .. 105 %, zero: ±30 mV } }
            """))!;
        long Steps(double millivolts) => (long)Math.Round(millivolts * 1e-3 / design.Arithmetic.Uncalibrated.Step);
        CalibrationResult result = design.Judge(new CalibrationInputs(
            [.. design.Standards.Select(s => s.Stated)], [2500, 2500], [Steps(firstMillivolts), Steps(secondMillivolts)]));
        Assert.Equal(refusal, result.Refusal);
        Assert.Equal(slope, result.Slope);
        Assert.Equal(zero, result.Zero * design.ZeroStep * 1e3, 0.05);
    }

    [Fact] // Property: without a least distance and with entries that overlap, the divisor can be zero, and the design says so
    public void Of_EntriesThatOverlapWithoutADistance_HasADivisorThatCanBeZero()
    {
        CalibrationDesign design = CalibrationDesign.Of(CalibrationSketches.Electrode("", "{ first: 7.00, second: 4.00, settable: true }", entries: "2.00 .. 12.00"))!;
        Assert.False(design.IsSound);
        Assert.NotEmpty(design.ZeroDivisors);
        (Node _, CalibrationInputs first) = CalibrationProof.Of(design).ZeroDivisor!.Value;
        Assert.Equal(first.Entered[0], first.Entered[1]);
        Assert.False(design.Run(first, new Int128[design.Program.Nodes.Count], inWords: false));
    }

    [Fact]
    public void Judge_OfStandardsNearerThanStated_IsRefusedBeforeAnythingIsDivided()
    {
        CalibrationDesign design = Of("apart");
        long step = (long)Math.Round(1 / design.Arithmetic.Measurand.Step);
        CalibrationInputs At(long distance) => new([5 * step, (5 * step) + distance], [2500, 2500], [0, -11000]);
        Assert.Equal(CalibrationRefusal.TooNear, design.Judge(At(step - 1)).Refusal);
        Assert.Equal(CalibrationRefusal.TooNear, design.Judge(At(0)).Refusal);
        Assert.NotEqual(CalibrationRefusal.TooNear, design.Judge(At(step)).Refusal);
        Assert.NotEqual(CalibrationRefusal.TooNear, design.Judge(At(-step)).Refusal);
    }

    /// <summary>Offset and gain of the line as the analysis defines them, by least squares in fractions.</summary>
    internal static (double Offset, double Gain) Exact(CalibrationDesign design, CalibrationInputs inputs)
    {
        bool isSignal = design.Arithmetic.CalibratesSignal;
        int n = design.Points;
        Rational step = Rational.Of(design.Arithmetic.Uncalibrated.Step);
        Rational[] t = [.. Enumerable.Range(0, n).Select(i => Rational.Of(design.ExactTarget(i, inputs.Entered[i], inputs.Temperature[i])))];
        Rational[] u = [.. inputs.Taken.Select(k => new Rational(k, 1) * step)];
        (Rational[] x, Rational[] y) = isSignal ? (t, u) : (u, t);
        Rational count = new(n, 1);
        Rational meanX = x.Aggregate((a, b) => a + b) / count;
        Rational meanY = y.Aggregate((a, b) => a + b) / count;
        Rational gain = new(1, 1);
        if (n > 1)
        {
            Rational xx = x.Select(v => (v - meanX) * (v - meanX)).Aggregate((a, b) => a + b);
            if (xx.Sign == 0)
            {
                return (double.NaN, double.NaN);
            }

            gain = x.Zip(y).Select(p => (p.First - meanX) * (p.Second - meanY)).Aggregate((a, b) => a + b) / xx;
        }

        return ((meanY - (gain * meanX)).Value, gain.Value);
    }

    private static CalibrationOutcome Judged(CalibrationDesign design, double offset, double gain)
    {
        // A line of the analysis' own is made of zero and slope; here the way back is taken, so that no definition is written twice.
        double pivot = design.Law.Instrument.Sensor.ZeroSignal ?? 0;
        double celsius = 25;
        ImmutableArray<double> targets = design.Arithmetic.CalibratesSignal ? [0.0, 0.1] : [design.Law.Instrument.Specification.Range.Low, design.Law.Instrument.Specification.Range.High];
        double[] values = [.. targets.Select(t => design.Arithmetic.CalibratesSignal ? design.Law.Instrument.Sensor.MeasurandOf(pivot + t, celsius) : (gain * t) + offset)];
        double[] signals = [.. targets.Select(t => design.Arithmetic.CalibratesSignal ? pivot + offset + (gain * t) : design.Law.Instrument.Sensor.NominalSignal(t, celsius))];
        if (design.Points == 1)
        {
            return design.Law.Fit(signals.AsSpan(0, 1), values.AsSpan(0, 1), celsius);
        }

        return design.Law.Fit(signals, values, celsius);
    }
}
