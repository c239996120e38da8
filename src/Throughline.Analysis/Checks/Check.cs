namespace Throughline.Analysis;

/// <summary>One check: what must hold, how it is computed and where the rule comes from. A new check is one class and one line in <see cref="CheckList"/>.</summary>
internal abstract class Check
{
    /// <summary>Stable, in the trade's words; also what a finding carries.</summary>
    public abstract string Name { get; }

    /// <summary>A sentence that says what must hold.</summary>
    public abstract string MustHold { get; }

    /// <summary>How the figures follow, in a line or two.</summary>
    public abstract string Formula { get; }

    /// <summary>The rule's source: a standard, a book, or <c>common practice, no source</c>.</summary>
    public abstract string Source { get; }

    /// <summary>Where it applies, runs it; nothing where the instrument has nothing of the kind.</summary>
    public abstract IEnumerable<Finding> Run(CheckContext context);
}
