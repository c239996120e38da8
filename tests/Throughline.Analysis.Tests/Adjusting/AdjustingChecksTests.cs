using Throughline.Analysis.Tests.Corpus;
using Xunit;

namespace Throughline.Analysis.Tests.Adjusting;

/// <summary>Findings of the adjustment on dividers worked by hand.</summary>
public sealed class AdjustingChecksTests
{
    [Theory] // The meter moves 0.4 V over the travel; half of 5° of the turns is left beside the target of ±1 mV
    [InlineData(12, 0.4 * 5 / 4320 / 2)]
    [InlineData(0.75, 0.4 * 5 / 270 / 2)]
    public void TrimFineness_OfTurns_IsHalfOfFiveDegrees(double turns, double left)
    {
        Finding finding = Sketch.Finding(Sketch.Read(TrimmedDivider.Text(FormattableString.Invariant($", turns: {turns}"))), "trim fineness");
        Assert.Equal(left, Sketch.Figure(finding, "left beside the target"), 1e-9);
        Assert.Equal(Math.Max(-1, 1 - (left / 1e-3)), finding.Margin, 1e-5);
    }

    [Fact] // 3.7 mV is 4.1 times 0.9 mV: 0.75 × 4.1 = 3.1 turns, rounded up
    public void TrimFineness_Mend_Mends()
    {
        Finding finding = Sketch.Finding(Sketch.Read(TrimmedDivider.Text(", turns: 0.75")), "trim fineness");
        Assert.StartsWith("A trimmer of 4 turns or more;", finding.Mend, StringComparison.Ordinal);
        Assert.Equal(Outcome.Met, Sketch.Finding(Sketch.Read(TrimmedDivider.Text(", turns: 4")), "trim fineness").Outcome);
    }

    [Fact]
    public void TrimFineness_NothingKnownOfTheTrimmer_IsNotJudged() =>
        Assert.DoesNotContain(Reviewer.Review(Sketch.Read(TrimmedDivider.Text())).Findings, f => f.Check == "trim fineness");

    [Fact] // 3.5 digits show 1.000 V to 1 mV; 0.1 % and 0.5 mV are 1.5 mV more; 1 % of the source's 2 V is 10 mV at the middle of the divider
    public void BenchAccuracy_AddsUpWhatMeterAndSourceMayBeWrongBy()
    {
        Finding finding = Sketch.Finding(
            Sketch.Read(TrimmedDivider.Text(target: "1.000 V ±20 mV", meter: "3.5 digit", bench: "bench: { meter: { error: ±0.1 %, fixed: ±0.5 mV }, source: { error: ±1 % } }")),
            "bench accurate enough");
        Assert.Equal(1e-3, Sketch.Figure(finding, "digits"), 1e-12);
        Assert.Equal(1.5e-3, Sketch.Figure(finding, "meter"), 1e-12);
        Assert.Equal(10e-3, Sketch.Figure(finding, "source"), 1e-8);
        Assert.Equal(1 - (12.5 / 20), finding.Margin, 1e-6);
    }

    [Fact] // 1 mV of ±1 mV is all of it; with a digit more it is a tenth
    public void BenchAccuracy_Mend_NamesTheDigits()
    {
        Finding finding = Sketch.Finding(Sketch.Read(TrimmedDivider.Text(meter: "3.5 digit")), "bench accurate enough");
        Assert.NotEqual(Outcome.Met, finding.Outcome);
        Assert.StartsWith("A meter of 4.5 digits", finding.Mend, StringComparison.Ordinal);
        Assert.Equal(0.9, Sketch.Finding(Sketch.Read(TrimmedDivider.Text(meter: "4.5 digit")), "bench accurate enough").Margin, 1e-6);
    }

    /// <summary>
    /// Two trimmers in one divider: 2 V over VR2 as a rheostat (1 kΩ), VR1 of 2 kΩ with its wiper at 'w', and R2 of 4 kΩ. The lower node reads
    /// 2 V × 4 kΩ / (6 kΩ + x2 × 1 kΩ + R1), whatever VR1: so VR2 first, then VR1 is an order that needs one pass, and the other is not.
    /// </summary>
    private static string Two(bool rightOrder, string r1 = "1.5 kΩ ±2 %")
    {
        const string Rheostat = "  - lower: { with: { s: 2 V }, turn: VR2, until: { bottom: 1.000 V ±1 mV } }\n";
        const string Wiper = "  - wiper: { with: { s: 2 V }, turn: VR1, until: { adc: 1.200 V ±1 mV } }\n";
        return TrimmedDivider.Text(r1: r1)
            .Replace("between: [s, top] }", "between: [s, m] }\n        VR2: { trimmer: 1 kΩ, between: [m, top] }", StringComparison.Ordinal)
            .Replace("  - span: { with: { s: 2 V }, turn: VR1, until: { TP1: 1.000 V ±1 mV } }\n", rightOrder ? Rheostat + Wiper : Wiper + Rheostat, StringComparison.Ordinal);
    }

    [Fact]
    public void AdjustmentOrder_RightOne_NeedsOnePass()
    {
        Finding finding = Sketch.Finding(Sketch.Read(Two(rightOrder: true)), "adjustment order");
        Assert.Equal(Outcome.Met, finding.Outcome);
        Assert.Equal(1, Sketch.Figure(finding, "passes on the worst unit"));
    }

    [Fact] // R1 of 1.47 kΩ: VR1 is set with VR2 in its middle, 1.2 V × 7.97 kΩ / 2 V; VR2 then takes 530 Ω, 30 Ω more, and the wiper falls by 30 / 8000 of 1.2 V
    public void AdjustmentOrder_WrongOne_NeedsTwoAndNamesTheRightOne()
    {
        Finding finding = Sketch.Finding(Sketch.Read(Two(rightOrder: false)), "adjustment order");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Equal(2, Sketch.Figure(finding, "passes on the worst unit"));
        Assert.Equal(1, Sketch.Figure(finding, "passes on the nominal unit"));
        Assert.Equal(1.2 * 30 / 8000 / 1e-3, Sketch.Figure(finding, "moved, of the tolerance"), 1e-3);
        Assert.Equal("In the order lower, wiper one pass does.", finding.Mend);
    }

    /// <summary>
    /// A rheostat that does not reach: R1 of 9 kΩ ±1 % and VR1 of 1 kΩ above 10 kΩ halve the voltage only where R1 + VR1 is 10 kΩ: 910 to 1090 Ω of VR1 are
    /// needed. With standard values, 9.76 kΩ of E96 and 500 Ω cover the 200 Ω that 1 % leave with a tenth free at either end.
    /// </summary>
    [Fact]
    public void Reach_Mend_NamesStandardValuesThatCoverEveryUnit()
    {
        string Text(string r1, string trimmer) => Sketch.Divider(more: "adjustment:\n  - half: { with: { s: 1 V }, turn: VR1, until: { TP1: 0.500 V ±1 mV } }\n")
            .Replace("R1: { resistor: 10 kΩ, between: [s, adc] }", $"R1: {{ resistor: {r1} ±1 %, between: [s, m] }}\n        VR1: {{ trimmer: {trimmer}, between: [m, adc] }}", StringComparison.Ordinal);
        Finding finding = Sketch.Finding(Sketch.Read(Text("9 kΩ", "1 kΩ")), "adjustment target within the trimmer's reach");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Equal(0.18, Sketch.Figure(finding, "travel used"), 1e-3); // beyond the end by the straight line through it
        Assert.Contains("of the standard values 9.76\u202FkΩ for R1 with a trimmer of 500\u202FΩ covers every unit", finding.Mend, StringComparison.Ordinal);
        Assert.Equal(Outcome.Met, Sketch.Finding(Sketch.Read(Text("9.76 kΩ", "500 Ω")), "adjustment target within the trimmer's reach").Outcome);
    }
}
