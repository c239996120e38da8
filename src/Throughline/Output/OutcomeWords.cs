using Throughline.Analysis;

namespace Throughline.Output;

/// <summary>How an outcome is said: always a sign and a word, never colour alone.</summary>
internal static class OutcomeWords
{
    /// <summary>Columns of <see cref="Mark"/>.</summary>
    public const int MarkWidth = 10;

    public static string Word(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => "not met",
        Outcome.Marginal => "marginal",
        _ => "met",
    };

    /// <summary>Sign and word.</summary>
    public static string Mark(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => "■ not met",
        Outcome.Marginal => "▲ marginal",
        _ => "· met",
    };

    public static Ink Ink(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => Output.Ink.NotMet,
        Outcome.Marginal => Output.Ink.Marginal,
        _ => Output.Ink.Quiet,
    };
}
