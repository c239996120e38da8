using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Parts;

/// <summary>How errors are written.</summary>
internal static class ErrorWords
{
    /// <summary>An error with its unit.</summary>
    public static string Of(double error, BudgetOutput output, Instrument instrument) => double.IsNaN(error) ? "—"
        : output == BudgetOutput.Loop ? Engineering.Format(error, "A", 3)
        : Engineering.WithUnit(Engineering.Number(error, 3), instrument.Specification.Unit);

    /// <summary>The unit that errors are drawn in, and how many of it one unit of the result is.</summary>
    public static (string Unit, double Factor) Scale(BudgetOutput output, Instrument instrument) =>
        output == BudgetOutput.Loop ? ("µA", 1e6) : (instrument.Specification.Unit, 1);

    /// <summary>A moment in the life of a unit.</summary>
    public static string Of(Moment moment) => moment switch
    {
        Moment.AsBuilt => "as built",
        Moment.Adjusted => "after adjustment",
        Moment.Calibrated => "after calibration",
        Moment.Rated => "at an end of the rated conditions",
        _ => "in use",
    };
}
