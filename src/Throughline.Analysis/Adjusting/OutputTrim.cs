namespace Throughline.Analysis;

/// <summary>What a unit's code makes of an output code before the converter gets it.</summary>
/// <param name="Offset">In codes.</param>
internal readonly record struct OutputTrim(double Offset, double Gain)
{
    /// <summary>Of a unit that was never trimmed.</summary>
    public static OutputTrim Neutral => new(0, 1);

    /// <summary>The code that goes to the converter, neither rounded nor limited.</summary>
    public double Of(double code) => Offset + (Gain * code);
}
