using Throughline.Analysis.Tests.Corpus;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>Ripple through an amplifier's supply rejection: 1/PSRR of the supply as an offset (the definition in data sheets), a first-order fall above the corner.</summary>
public sealed class RippleSurveyTests
{
    [Theory] // 100 mV, 60 dB and a gain of 11 are 1.1 mV; at a hundred times the corner a hundred times as much
    [InlineData("", 1e5, 1)]
    [InlineData(", supply rejection corner: 1 kHz", 10, 1.00005)]
    [InlineData(", supply rejection corner: 1 kHz", 1e3, 1.41421)]
    [InlineData(", supply rejection corner: 1 kHz", 1e5, 100.005)]
    public void Display_OfARippleOnTheAmplifiersSupply_IsThatOfItsRejection(string corner, double hertz, double times)
    {
        RippleEffect effect = Assert.Single(Reviewer.Supplies(Sketch.Read(FormattableString.Invariant($$"""
            instrument: Ripple
            specification: { measurand: pressure, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±1 kPa } }
            sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 0.2 V }, between: [s, 0V] }
            supplies:
              input: { kind: dc, voltage: 24 V, return: 0V }
              P5: { kind: switching converter, from: input, voltage: 5 V, ripple: { peak to peak: 100 mV, at: {{hertz}} Hz } }
            stages:
              - input:
                  parts:
                    U1: { op amp: { supply: 2 .. 10 V, stated at: 5 V, supply rejection: 60 dB{{corner}} }, plus: s, minus: f, out: adc, supply: [P5, 0V] }
                    R1: { resistor: 10 kΩ, between: [adc, f] }
                    R2: { resistor: 1 kΩ, between: [f, 0V] }
                  from: [s, 0V]
                  to: adc
                  intent: { 0 V: 0 V, 0.2 V: 2.2 V }
              - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V }
              - arithmetic: { from: reading, to: measurand }
            """)))!.Ripple);
        double kilopascals = 0.1e-3 * times * 100 / 0.2;
        Assert.Equal(kilopascals, effect.Display, kilopascals * 1e-5);
    }
}
