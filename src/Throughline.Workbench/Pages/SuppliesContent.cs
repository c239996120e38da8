using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Pages;

/// <summary>What the page of supplies and loop shows.</summary>
/// <param name="Instrument">What it was found of.</param>
/// <param name="Tree">The drawn tree; empty where there is none.</param>
/// <param name="Map">The drawn compliance map; null where there is none.</param>
public sealed record SuppliesContent(Instrument Instrument, SupplyReport? Supplies, string Tree, LoopReport? Loop, string? Map);
