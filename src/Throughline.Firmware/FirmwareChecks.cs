using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Every check of the firmware: arithmetic, settings memory, panel.</summary>
public sealed class FirmwareChecks : IFurtherChecks
{
    private readonly ImmutableArray<FirmwareCheck> _checks;

    /// <summary>All of them.</summary>
    public FirmwareChecks()
        : this([.. ByField.Cast<FirmwareChecks>().SelectMany(f => f._checks)])
    {
    }

    private FirmwareChecks(ImmutableArray<FirmwareCheck> checks) => (_checks, Descriptions) = (checks, [.. checks.Select(c => c.Description)]);

    /// <summary>The same, field by field: whoever has the processors for it runs them side by side.</summary>
    public static ImmutableArray<IFurtherChecks> ByField { get; } =
    [
        new FirmwareChecks(
        [
            new ArithmeticOverflowCheck(),
            new ArithmeticRoundingCheck(),
            new DivisionByZeroCheck(),
            new CalibrationOverflowCheck(),
            new CalibrationRoundingCheck(),
            new EditingStandardCheck(),
            new OutputTrimOverflowCheck(),
            new OutputTrimRoundingCheck(),
        ]),
        new FirmwareChecks(
        [
            new SettingsFitCheck(),
            new PowerCutCheck(),
            new CorruptionCheck(),
            new BlankMemoryCheck(),
            new SettingsGuardedCheck(),
            new SettingsPlausibleCheck(),
            new WearCheck(),
            new MigrationCheck(),
        ]),
        new FirmwareChecks(
        [
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
        ]),
    ];

    public ImmutableArray<CheckDescription> Descriptions { get; }

    public IEnumerable<Finding> Run(Instrument instrument) => _checks.SelectMany(c => c.Run(instrument));
}
