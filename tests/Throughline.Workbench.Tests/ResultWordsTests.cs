using Throughline.Analysis;
using Throughline.Workbench.Parts;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>How figures of the results are written.</summary>
public sealed class ResultWordsTests
{
    [Theory]
    [InlineData(2.5e-5, "1/K", "25\u202fppm/K")]
    [InlineData(0.02 / 604_800, "pH/s", "0.02\u202fpH/week")]
    [InlineData(4.64e-7, "V/V", "0.464\u202fµV/V")]
    [InlineData(0.25, "V/V", "0.25\u202fV/V")]
    [InlineData(220e-15, "A", "220\u202ffA")]
    [InlineData(double.NaN, "1/K", "—")]
    public void Contribution_OfAUnit_IsWrittenAsDataSheetsDo(double value, string unit, string text) => Assert.Equal(text, ResultWords.Contribution(value, unit));

    [Theory] // Sample sizes of the success-run rule at 95 % confidence, 59 for 95 %, 299 for 99 %, 2995 for 99.9 %: common practice, no source; from memory.
    [InlineData(59, 0.95)]
    [InlineData(299, 0.99)]
    [InlineData(2_995, 0.999)]
    public void LeastYield_OfABatchWithoutABadUnit_IsReachedFirstAtTheSuccessRun(long units, double yield)
    {
        Assert.True(ResultWords.LeastYield(units) >= yield);
        Assert.True(ResultWords.LeastYield(units - 1) < yield);
    }

    [Theory]
    [InlineData(-25e-15, 0.03, 0)]
    [InlineData(-1.5e-5, 0.1, -1.5e-5)]
    [InlineData(1e-9, double.NaN, 1e-9)]
    public void Noticed_OfRounding_IsNone(double error, double allowed, double noticed) => Assert.Equal(noticed, ResultWords.Noticed(error, allowed));

    [Theory] // Whole minutes and seconds of a time in seconds: 60 s to the minute
    [InlineData(12.34, "12.3 s")]
    [InlineData(157.4, "2 min 37 s")]
    [InlineData(179.99, "2 min 59 s")]
    [InlineData(3725, "1 h 2 min")]
    public void Clock_OfSeconds_SaysMinutesAndSeconds(double seconds, string text) => Assert.Equal(text, ResultWords.Clock(seconds).Replace(Engineering.ThinSpace, ' '));

    [Theory]
    [InlineData(0.0140, 0.1, "pH", "+0.0140 pH")]
    [InlineData(0.0000049, 0.1, "pH", "0.0000 pH")]
    [InlineData(338.2e-6, 320e-6, "A", "+338.2 µA")]
    [InlineData(-4.4312, 4, "kg", "−4.431 kg")]
    [InlineData(double.NaN, 4, "kg", "—")]
    public void Error_BesideItsLimit_HasTheDigitsOfTheColumn(double value, double allowed, string unit, string text) =>
        Assert.Equal(text, ResultWords.Error(value, allowed, unit, isSigned: true).Replace(Engineering.ThinSpace, ' '));

    [Theory]
    [InlineData(4.5, "4½")]
    [InlineData(3.75, "3¾")]
    [InlineData(6, "6")]
    public void MeterDigits_OfHalves_AreWrittenAsTheTradeDoes(double digits, string text) => Assert.Equal(text, ResultWords.MeterDigits(digits));
}
