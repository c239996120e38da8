using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace Throughline.Instruments;

/// <summary>How values lie between their limits, such as <c>rectangular</c> or <c>normal 3 σ</c>.</summary>
internal sealed partial class SpreadTextShape : ScalarShape
{
    /// <summary>Beyond these a statement is a slip: a normal spread of limits within a tenth of a standard deviation is none.</summary>
    private const double LeastK = 0.1;

    private const double GreatestK = 10;

    /// <summary>The same in ECMA-262 and here.</summary>
    private const string Form = "(?:rectangular|triangular|arcsine|two-point|(?:sorted )?normal *([0-9]{1,3}(?:\\.[0-9]{1,6})?) *(?:\u03C3|sigma))";

    private static readonly string[] Words = ["rectangular", "triangular", "arcsine", "two-point", "normal 3 σ", "sorted normal 3 σ"];

    public override string Expected => "a spread such as `rectangular` or `normal 3 σ`";

    public override bool Accepts(ScalarNode node, ShapeContext context) => node.Type == ScalarType.Text && Whole().IsMatch(node.Text);

    public override void Judge(ScalarNode node, ShapeContext context)
    {
        if (Read(node) is null)
        {
            context.Sink.Report(
                Codes.OutOfRange, node.Span, "So many standard deviations to the limits are no normal spread.",
                string.Create(CultureInfo.InvariantCulture, $"from {LeastK} to {GreatestK} σ"), node.Found);
        }
    }

    public override void Complain(ScalarNode node, ShapeContext context)
    {
        string expected = Nearest.OneOf(Words);
        if (node.Type != ScalarType.Text)
        {
            context.Sink.Report(Codes.WrongType, node.Span, $"Expected {Expected}, found {node.Found}.", expected, node.Found);
            return;
        }

        Match normal = BeginsNormal().Match(node.Text);
        string? mend = !normal.Success ? Nearest.Mend(node.Text, Words)
            : normal.Groups["k"].Success ? $"write `{normal.Groups["word"].Value.ToLowerInvariant()} {normal.Groups["k"].Value} σ`"
            : $"say how many standard deviations the limits are from the middle, such as `{normal.Groups["word"].Value.ToLowerInvariant()} 3 σ`";
        context.Sink.Report(Codes.UnknownWord, node.Span, $"Expected {Expected}, found {node.Found}.", expected, node.Found, mend);
    }

    public override JsonObject ToSchema(SchemaWriter writer) => new() { ["type"] = "string", ["pattern"] = PatternText.Whole(Form) };

    /// <summary>What a scalar says; null when it is not of the shape or its number makes no sense.</summary>
    public static Spread? Read(ScalarNode node)
    {
        if (node.Type != ScalarType.Text || Whole().Match(node.Text) is not { Success: true } match)
        {
            return null;
        }

        if (!match.Groups[1].Success)
        {
            return new Spread(
                node.Text switch
                {
                    "triangular" => SpreadShape.Triangular,
                    "arcsine" => SpreadShape.Arcsine,
                    "two-point" => SpreadShape.TwoPoint,
                    _ => SpreadShape.Rectangular,
                },
                1);
        }

        double k = double.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture);
        return k is >= LeastK and <= GreatestK ? new Spread(node.Text[0] == 's' ? SpreadShape.SortedNormal : SpreadShape.Normal, k) : null;
    }

    [GeneratedRegex("^" + Form + "(?![\\s\\S])", RegexOptions.CultureInvariant)]
    private static partial Regex Whole();

    [GeneratedRegex("^(?<word>(?:sorted )?normal)\\b(?:[^0-9]*(?<k>[0-9]{1,2}(?:\\.[0-9]{1,6})?))?", RegexOptions.CultureInvariant | RegexOptions.IgnoreCase)]
    private static partial Regex BeginsNormal();
}
