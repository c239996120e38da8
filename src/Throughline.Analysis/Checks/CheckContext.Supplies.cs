namespace Throughline.Analysis;

/// <content>The supplies.</content>
internal sealed partial class CheckContext
{
    private Lazy<SupplyReport?>? _supplies;

    /// <summary>The supplies over all conditions; null when there are none.</summary>
    public SupplyReport? Supplies => (_supplies ??= new Lazy<SupplyReport?>(() => SupplyReportBuilder.Build(this))).Value;
}
