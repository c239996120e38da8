using CsCheck;
using Xunit;

namespace Throughline.Analysis.Tests.Dynamics;

/// <summary>Step curves with a lag in front, against closed forms.</summary>
public class StepCurveTests
{
    [Fact] // Two first-order lags in series: 1 − (a e^(−t/a) − b e^(−t/b)) / (a − b); from the Laplace transform, common practice, no source.
    public void Share_OfTwoLags_IsTheClosedForm() =>
        Gen.Select(Gen.Double[-3, 1], Gen.Double[-3, 1], Gen.Double[0, 1]).Where(g => Math.Abs(g.Item1 - g.Item2) > 0.05).Sample(
            (first, second, part) =>
            {
                double a = Math.Pow(10, first), b = Math.Pow(10, second);
                StepCurve curve = new(t => 1 - Math.Exp(-t / a), a * Math.Log(1e4), b);
                double time = part * curve.Settled;
                double exact = 1 - (((a * Math.Exp(-time / a)) - (b * Math.Exp(-time / b))) / (a - b));
                return Math.Abs(curve.Share(time) - exact) < 1e-3;
            },
            seed: "0N0XIzNsQ0O2");

    [Fact] // One lag goes nine tenths of its way in ln 10 of its time constants; from its exponential, common practice, no source.
    public void TimeToReach_NineTenthsOfALagAlone_IsItsT90()
    {
        StepCurve curve = new(_ => 1, 1e-7, 4 / Math.Log(10));
        Assert.Equal(4, curve.TimeToReach(0.9, 0), 2e-3);
        Assert.Equal(0, curve.Share(0));
        Assert.Equal(1, curve.Share(curve.Settled));
    }

    [Fact] // Mean over a window w of what a lag has left, e^(−t/τ): τ/w (e^(w/τ) − 1) e^(−t/τ); from its integral, common practice, no source.
    public void TimeToReach_WithAWindowBehindALag_IsTheClosedForm()
    {
        const double Lag = 2, Window = 0.5;
        double exact = Lag * Math.Log(Lag / Window * (Math.Exp(Window / Lag) - 1) / 0.1);
        Assert.Equal(exact, new StepCurve(_ => 1, 1e-7, Lag).TimeToReach(0.9, Window), 2e-3);
    }
}
