namespace Throughline.Analysis;

/// <summary>What a condition of the loop does to the part that it strains most.</summary>
public enum LoopHarm
{
    /// <summary>Within what the part's grade states.</summary>
    None,

    /// <summary>More heat than the grade states.</summary>
    Overheated,

    /// <summary>The part carries current or heat, and its grade states no limit.</summary>
    Unstated,
}
