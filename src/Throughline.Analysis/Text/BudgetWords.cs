using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The four moments and two outputs of an error budget in the trade's words.</summary>
public static class BudgetWords
{
    public static string Of(BudgetMoment moment) => moment switch
    {
        BudgetMoment.AsBuilt => "as built",
        BudgetMoment.AfterAdjustment => "adjusted",
        BudgetMoment.AfterCalibration => "calibrated",
        _ => "rated",
    };

    public static string Meaning(BudgetMoment moment) => moment switch
    {
        BudgetMoment.AsBuilt => "trimmers where the file says, reference conditions",
        BudgetMoment.AfterAdjustment => "trimmers set by the adjustment steps, reference conditions",
        BudgetMoment.AfterCalibration => "just calibrated by the user, reference conditions",
        _ => "over all rated conditions until the next calibration",
    };

    /// <summary>The display, or what the instrument puts out.</summary>
    public static string Of(BudgetOutput output, Instrument instrument) => output == BudgetOutput.Display ? "display" : instrument.Output.Place;
}
