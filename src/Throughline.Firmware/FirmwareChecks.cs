using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Every check of the firmware: arithmetic, settings memory, panel.</summary>
public sealed class FirmwareChecks : IFurtherChecks
{
    private static readonly ImmutableArray<FirmwareCheck> All =
    [
        new ArithmeticOverflowCheck(),
        new ArithmeticRoundingCheck(),
        new DivisionByZeroCheck(),
        new CalibrationOverflowCheck(),
        new CalibrationRoundingCheck(),
        new EditingStandardCheck(),
        new OutputTrimOverflowCheck(),
        new OutputTrimRoundingCheck(),
        new SettingsFitCheck(),
        new PowerCutCheck(),
        new CorruptionCheck(),
        new BlankMemoryCheck(),
        new SettingsGuardedCheck(),
        new SettingsPlausibleCheck(),
        new WearCheck(),
        new MigrationCheck(),
        new PanelTextCheck(),
        new PanelCharactersCheck(),
        new ScreensReachableCheck(),
        new ScreensLeftCheck(),
        new CalibrationAbandonedCheck(),
        new OutputTrimOnPanelCheck(),
        new KeyLabelsCheck(),
        new ReturnsToMeasuringCheck(),
        new FailuresAtLoopCheck(OutputSignal.Current),
        new FailuresAtLoopCheck(OutputSignal.Voltage),
        new OutputTestCheck(),
    ];

    public ImmutableArray<CheckDescription> Descriptions { get; } = [.. All.Select(c => c.Description)];

    public IEnumerable<Finding> Run(Instrument instrument) => All.SelectMany(c => c.Run(instrument));
}
