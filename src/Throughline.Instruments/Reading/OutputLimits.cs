namespace Throughline.Instruments;

/// <summary>The edges of an output's signal as a file says them; null for one that it does not.</summary>
internal sealed record OutputLimits(Quantity? Under, Quantity? Over, Quantity? Failure)
{
    public IEnumerable<Quantity> All => new[] { Under, Over, Failure }.OfType<Quantity>();
}
