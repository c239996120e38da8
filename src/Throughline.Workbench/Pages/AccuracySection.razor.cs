using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;

namespace Throughline.Workbench.Pages;

/// <summary>The error budget at a chosen point and moment, and the virtual batch.</summary>
public sealed partial class AccuracySection : FollowingSection<ErrorBudgetReport>
{
    private const int Few = 12;

    private int _point;
    private BudgetOutput _output = BudgetOutput.Display;
    private BudgetMoment _moment = BudgetMoment.Rated;
    private bool _isAll;

    protected override ErrorBudgetReport Find(Instrument instrument, CancellationToken cancel) => Reviewer.Budget(instrument, null);

    private static string WordOf(BudgetMoment moment) => moment switch
    {
        BudgetMoment.AsBuilt => "as built",
        BudgetMoment.AfterAdjustment => "after adjustment",
        BudgetMoment.AfterCalibration => "after calibration",
        _ => "over the rated conditions",
    };

    private static int Index(string? text) => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int index) ? index : 0;

    // What was chosen may be gone with an edit: then the first of what is there.
    private double Point(ErrorBudgetReport report) => report.Points[Math.Clamp(_point, 0, report.Points.Length - 1)];

    private BudgetOutput Output(ErrorBudgetReport report) => report.Tables.Any(t => t.Output == _output) ? _output : report.Tables[0].Output;

    private BudgetMoment Moment(ErrorBudgetReport report) => report.Moments.Contains(_moment) ? _moment : report.Moments[^1];

    private string Text(double error) => ErrorWords.Of(error, Output(Found!), Followed.Instrument);
}
