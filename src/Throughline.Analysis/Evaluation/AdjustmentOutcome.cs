using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>How one step of the adjustment went.</summary>
/// <param name="Position">Where the trimmer stands, 0 to 1.</param>
/// <param name="Needed">Where it would have to stand if it had no ends; NaN when no position gives the target.</param>
/// <param name="Reading">What the meter reads, V or A.</param>
/// <param name="Reached">Whether the reading is within the target's tolerance.</param>
public sealed record AdjustmentOutcome(AdjustmentStep Step, double Position, double Needed, double Reading, bool Reached);
