using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>
/// Ripple of a pulse-width output. The expected figures are the closed form of a train of pulses through RC sections in the steady state (the response of
/// one section to a square wave is in every handbook): between edges e^(−t/τ), the same at the beginning and the end of a period.
/// </summary>
public sealed class PulseRippleTests
{
    private const double Period = 1024 / 8e6;

    [Theory]
    [InlineData(0.5, 1e-3)]
    [InlineData(0.5, 0.1e-3)]
    [InlineData(0.1, 1e-3)]
    [InlineData(0.9, 1e-3)]
    public void PeakToPeak_OfOneSection_IsTheClosedForm(double duty, double tau)
    {
        double a = Math.Exp(-Period / tau);
        double expected = 5 * (1 - Math.Pow(a, duty)) * (1 - Math.Pow(a, 1 - duty)) / (1 - a);

        // 2048 harmonics that fall as 1/n² leave half a thousandth.
        Assert.Equal(expected, Ripple(tau, 0).PeakToPeak(duty), expected * 1e-3);
    }

    [Theory]
    [InlineData(0.5)]
    [InlineData(0.2)]
    public void PeakToPeak_OfTwoSectionsWithAFollowerBetween_IsTheClosedForm(double duty)
    {
        const double First = 1e-3, Second = 0.3e-3;

        // 1/((1+sτ₁)(1+sτ₂)) is the difference of two single sections.
        double At(double t) => ((First * Single(First, duty, t)) - (Second * Single(Second, duty, t))) / (First - Second);
        double[] wave = [.. Enumerable.Range(0, 20000).Select(i => At(i * Period / 20000))];
        double expected = 5 * (wave.Max() - wave.Min());
        PulseRipple ripple = Ripple(First, Second);
        Assert.Equal(expected, ripple.PeakToPeak(duty), expected * 2e-3);
        Assert.InRange(ripple.Order, 1.8, 2);
    }

    [Fact]
    public void Worst_OverTheWholePeriod_IsInTheMiddle()
    {
        PulseRipple ripple = Ripple(1e-3, 0);
        (double peak, double duty) = ripple.Worst(0, 1);
        Assert.Equal(0.5, duty);
        Assert.Equal(ripple.PeakToPeak(0.5), peak);
        Assert.Equal(0, ripple.PeakToPeak(0), 1e-9);
        Assert.Equal(1 / Period, ripple.Hertz, 1e-9);
    }

    [Fact] // the mean: code/2^bits of the level, less what the switches' resistance takes of it, the level following the rail
    public void Readings_OfAPulseWidthOutput_AreThoseOfTheMean()
    {
        Evaluator evaluator = new(Model.Compile(Instrument(1e-3, 0)));
        Assert.Equal(5.0 / 1024, evaluator.VoltsPerOutputCode, 1e-12);
        UnitState state = evaluator.NewState();
        state.DriveVolts = 2.5;
        state.Values[evaluator.Model.Parameters.IndexOf(evaluator.Model.Parameters.All.Single(p => p.ToString().StartsWith("A5", StringComparison.Ordinal)))] = 5.1;
        evaluator.Field.Solve(state, limited: false);
        Assert.Equal(2.55, Evaluator.Volts(evaluator.Field, "pulses", "0V"), 1e-6);
    }

    [Fact] // what the check of the pulses sees is in the loop's noise as well, from peak to peak and with an eighth of its square
    public void LoopNoise_OfAPulseWidthOutput_HoldsItsRipple()
    {
        Instrument instrument = InstrumentReader.ReadFile(Testing.Repository.PathOf("demo", "loop-powered-level", "instrument.yaml")).Value!;
        Evaluator evaluator = new(Model.Compile(instrument));
        double duty = evaluator.OutputCodeOf(12e-3) / 4096;
        double expected = PulseRipple.Of(evaluator)!.PeakToPeak(duty);
        LoopNoise noise = Reviewer.Loop(instrument)!.Noise!;
        Assert.Equal(expected, noise.PulseRipple, expected * 1e-9);
        Assert.True(noise.PeakToPeak > noise.PulseRipple);
        NoiseCause cause = Assert.Single(noise.Causes, c => c.Kind == "pulses");
        Assert.Equal(("writing", expected / Math.Sqrt(8)), (cause.Part, cause.Rms), (a, b) => a.Item1 == b.Item1 && Math.Abs(a.Item2 - b.Item2) < 1e-6 * b.Item2);
    }

    /// <summary>One section in the steady state, height 1, at a time after the rising edge.</summary>
    private static double Single(double tau, double duty, double t)
    {
        double a = Math.Exp(-Period / tau);
        double low = (Math.Exp(-Period * (1 - duty) / tau) - a) / (1 - a);
        double high = (1 - Math.Exp(-Period * duty / tau)) / (1 - a);
        return t < duty * Period ? 1 - ((1 - low) * Math.Exp(-t / tau)) : high * Math.Exp(-(t - (duty * Period)) / tau);
    }

    private static PulseRipple Ripple(double first, double second)
    {
        Evaluator evaluator = new(Model.Compile(Instrument(first, second)));
        UnitState state = evaluator.NewState();
        evaluator.Field.Solve(state, limited: false);
        return PulseRipple.Of(
            evaluator.Field.TryLinearise()!, evaluator.Model.DriveSlot, Evaluator.VoltageProbe(evaluator.Model.Field, second > 0 ? "b" : "a", "0V")!.Value,
            evaluator.Model.OutputConverter!.PulseHertz!.Value, evaluator.NominalOutputReference);
    }

    private static Instrument Instrument(double first, double second) => Sketch.Read($$"""
        instrument: Pulses
        specification: { measurand: pressure, range: 0 .. 100 kPa }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 1 V }, between: [s, 0V] }
        supplies: { A5: { kind: dc, voltage: 5 V ±5 %, return: 0V } }
        stages:
          - writing: { kind: pulse width, output: pulses, bits: 10, clock: 8 MHz, reference: [A5, 0V] }
          - output:
              parts:
                RS: { resistor: 1 kΩ, between: [s, 0V] }
                F1: { block: rc filter, in: pulses, out: a, common: 0V, R: 10 kΩ, C: {{BlockSketch.Number(first / 1e4 * 1e9)}} nF }
                U1: { op amp: { supply: 1 .. 100 V }, plus: a, minus: f, out: f, supply: [A5, 0V] }
                F2: { block: rc filter, in: f, out: b, common: 0V, R: 10 kΩ, C: {{BlockSketch.Number(Math.Max(second, 1e-6) / 1e4 * 1e9)}} nF }
              from: pulses
              to: b
        """);
}
