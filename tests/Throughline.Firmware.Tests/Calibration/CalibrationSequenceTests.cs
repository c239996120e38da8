using Xunit;

namespace Throughline.Firmware.Tests.Calibration;

public sealed class CalibrationSequenceTests
{
    private static CalibrationSequence Sequence(string name = "nutrient-ph") => new(CalibrationDesign.Of(CalibrationSketches.Named(name))!);

    private static void Settle(CalibrationSequence sequence, long reading, long temperature = 2500)
    {
        for (int i = 0; i <= 10; i++)
        {
            sequence.Offer(reading, temperature, 1000);
        }
    }

    private static CalibrationResult Calibrate(CalibrationSequence sequence, long first, long second)
    {
        sequence.Begin();
        Settle(sequence, first);
        Assert.True(sequence.Take(0));
        Settle(sequence, second);
        Assert.True(sequence.Take(1));
        return sequence.Judge();
    }

    [Fact]
    public void Enter_WhileNoCalibrationHasSucceeded_LeavesWhatReadingsAreMadeWith()
    {
        CalibrationSequence sequence = Sequence();
        Assert.True(Calibrate(sequence, 500, 34000).IsAccepted);
        CalibrationKept before = sequence.Working;
        Assert.NotEqual(default, before);
        sequence.Begin();
        for (long value = sequence.Design.Standards[0].Low; value <= sequence.Design.Standards[0].High; value += 100)
        {
            sequence.Enter(0, value);
            Assert.Equal(before, sequence.Working);
        }

        sequence.Abandon();
        Assert.Equal(before, sequence.Working);
        CalibrationResult refused = Calibrate(sequence, 20000, 34000);
        Assert.False(refused.IsAccepted);
        Assert.Equal(before, sequence.Working);
    }

    [Fact]
    public void Enter_WhereEntriesCountAtOnce_MovesTheReadingByWhatIsEntered()
    {
        CalibrationSequence sequence = Sequence("at once");
        long volts = (long)Math.Round(0.1775 / sequence.Design.Arithmetic.Uncalibrated.Step);
        Assert.True(Calibrate(sequence, 0, volts).IsAccepted);
        CalibrationKept before = sequence.Working;
        sequence.Enter(0, sequence.Entered(0) + 1000);
        Assert.NotEqual(before, sequence.Working);
    }

    [Fact]
    public void Take_BeforeTheReadingIsSteady_TakesNothing()
    {
        CalibrationSequence sequence = Sequence();
        Assert.False(sequence.Take(0));
        sequence.Begin();
        Assert.False(sequence.Take(0));
        sequence.Offer(500, 2500, 1000);
        for (int second = 0; second < 9; second++)
        {
            sequence.Offer(500 + (second % 2 * 100), 2500, 1000);
        }

        Assert.Equal(9, sequence.SecondsSteady);
        Assert.False(sequence.Take(0));
        sequence.Offer(601, 2500, 1000);
        Assert.Equal(0, sequence.SecondsSteady);
        Settle(sequence, 601);
        Assert.Equal(10, sequence.SecondsSteady);
        Assert.True(sequence.Take(0));
        Assert.Equal(1, sequence.Taken);
        Assert.False(sequence.IsSteady);
    }

    [Fact] // A drift of a twentieth of the band a second has used the band up after 20 s: it is never steady for longer than it may be
    public void Offer_OfASlowDrift_BeginsAnewWhenTheBandIsUsedUp()
    {
        CalibrationSequence sequence = Sequence();
        sequence.Begin();
        bool wasSteady = false;
        for (int second = 0; second < 22; second++)
        {
            sequence.Offer(500 + (second * 5), 2500, 1000);
            wasSteady |= sequence.IsSteady;
        }

        Assert.True(wasSteady);
        Assert.False(sequence.IsSteady);
    }

    [Fact]
    public void Judge_WithAStandardNotTaken_IsIncompleteAndGoesOn()
    {
        CalibrationSequence sequence = Sequence();
        sequence.Begin();
        Settle(sequence, 500);
        sequence.Take(0);
        Assert.Equal(CalibrationRefusal.Incomplete, sequence.Judge().Refusal);
        Assert.True(sequence.IsUnderWay);
        Settle(sequence, 34000);
        Assert.True(sequence.Take(1));
        Assert.True(sequence.Judge().IsAccepted);
        Assert.False(sequence.IsUnderWay);
    }

    [Fact]
    public void Load_OfNumbersBeyondTheirRanges_HoldsThem()
    {
        CalibrationSequence sequence = Sequence();
        sequence.Load(new CalibrationKept(long.MaxValue, long.MinValue), [long.MinValue, long.MaxValue]);
        Assert.Equal((long)sequence.Design.Arithmetic.Zero!.High, sequence.Working.Zero);
        Assert.Equal((long)sequence.Design.Arithmetic.Gain!.Low, sequence.Working.Gain);
        Assert.Equal(sequence.Design.Standards[0].Low, sequence.Entered(0));
        Assert.Equal(sequence.Design.Standards[1].High, sequence.Entered(1));
    }
}
