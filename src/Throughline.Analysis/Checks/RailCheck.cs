namespace Throughline.Analysis;

/// <summary>A check of every rail at its worst.</summary>
internal abstract class RailCheck : Check
{
    public sealed override IEnumerable<Finding> Run(CheckContext context) => (context.Supplies?.Worst ?? []).SelectMany(rail => Of(context, rail));

    /// <summary>The findings of one rail.</summary>
    protected abstract IEnumerable<Finding> Of(CheckContext context, RailWorst rail);
}
