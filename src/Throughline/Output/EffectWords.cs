using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>How the effect of a fault is said: always a sign and a word, never colour alone.</summary>
internal static class EffectWords
{
    /// <summary>Columns of <see cref="Mark"/>.</summary>
    public const int MarkWidth = 11;

    /// <summary>Worst first.</summary>
    public static IReadOnlyList<FaultEffect> Order { get; } =
        [FaultEffect.Hidden, FaultEffect.Undefined, FaultEffect.AtLimit, FaultEffect.Signalled, FaultEffect.Harmless];

    public static string Word(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => "hidden",
        FaultEffect.Undefined => "left open",
        FaultEffect.AtLimit => "at an end",
        FaultEffect.Signalled => "signalled",
        _ => "harmless",
    };

    /// <summary>What the word means, for the foot of the table.</summary>
    public static string Meaning(FaultEffect effect, OutputSignal signal) => effect switch
    {
        FaultEffect.Hidden => "a wrong value that looks like a right one",
        FaultEffect.Undefined => "a node floats or two sources fight: the circuit does not say",
        FaultEffect.AtLimit => $"the {signal.Place} stands at an end of what measuring uses, which is no failure signal",
        FaultEffect.Signalled => $"{signal.Carries} a failure {signal.Noun}, or nothing is shown",
        _ => $"display and {signal.Place} stay within their limits of error",
    };

    /// <summary>Sign and word.</summary>
    public static string Mark(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => "■ ",
        FaultEffect.Undefined or FaultEffect.AtLimit => "▲ ",
        _ => "· ",
    } + Word(effect);

    public static Ink Ink(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => Output.Ink.NotMet,
        FaultEffect.Undefined or FaultEffect.AtLimit => Output.Ink.Marginal,
        _ => Output.Ink.Quiet,
    };
}
