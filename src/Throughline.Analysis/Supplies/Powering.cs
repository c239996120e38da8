using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Which of the parts that no circuit is drawn of have their supply, by the names under the supplies' <c>draws</c>; who is named nowhere has.</summary>
internal sealed record Powering(bool Processor, bool Converter, bool OutputConverter, bool Panel)
{
    public static Powering Without(Model model, IReadOnlyCollection<string> missing)
    {
        return new(Has(model.Arithmetic?.Name.Value), Has(model.Converter?.Name.Value), Has(model.OutputConverter?.Name.Value), Has("panel"));

        bool Has(string? consumer) => RailOf(model.Instrument, consumer) is not { } rail || !missing.Contains(rail.Name.Value);
    }

    /// <summary>The supply whose draws name a consumer; null when none does.</summary>
    public static Supply? RailOf(Instrument instrument, string? consumer) =>
        instrument.Supplies.FirstOrDefault(s => s.Draws.Any(d => d.Name.Value == consumer));

    /// <summary>What holds the output converter.</summary>
    /// <param name="dac">The converter.</param>
    /// <param name="isRunning">Whether the processor is out of reset, if it has its supply.</param>
    /// <param name="hasWritten">Whether it has written a code since the converter has its supply.</param>
    public OutputHold HoldOf(OutputConverterStage dac, bool isRunning, bool hasWritten) =>
        !OutputConverter ? OutputHold.Unpowered
        : Processor && isRunning ? OutputHold.Written
        : hasWritten && !dac.ResetsWithProcessor ? OutputHold.Kept
        : dac.AtReset switch { ResetOutput.Middle => OutputHold.Middle, ResetOutput.Open => OutputHold.Open, _ => OutputHold.Zero };

    /// <summary>Whether its output is open.</summary>
    public static bool IsOpen(OutputHold hold) => hold is OutputHold.Open or OutputHold.Unpowered;

    /// <summary>The voltage that it gives by itself where nothing is or was written, V.</summary>
    public static double VoltsOf(OutputHold hold, Evaluator evaluator) =>
        hold == OutputHold.Middle ? Math.ScaleB(1, evaluator.Model.OutputConverter!.Bits - 1) * evaluator.VoltsPerOutputCode : 0;

    public static string Words(OutputHold hold) => hold switch
    {
        OutputHold.Written => "as written",
        OutputHold.Kept => "keeps its last code",
        OutputHold.Middle => "middle code",
        OutputHold.Open => "open",
        OutputHold.Unpowered => "without supply",
        _ => "code 0",
    };
}
