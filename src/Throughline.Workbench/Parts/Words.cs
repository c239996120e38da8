using System.Globalization;
using Throughline.Analysis;

namespace Throughline.Workbench.Parts;

/// <summary>How results are called and written on the pages.</summary>
internal static class Words
{
    /// <summary>The style of an outcome; it always comes with a sign and a word.</summary>
    public static string ClassOf(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => "not-met",
        Outcome.Marginal => "marginal",
        _ => "met",
    };

    public static string SignOf(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => "■",
        Outcome.Marginal => "▲",
        _ => "·",
    };

    public static string Of(Outcome outcome) => outcome switch
    {
        Outcome.NotMet => "not met",
        Outcome.Marginal => "marginal",
        _ => "met",
    };

    /// <summary>A number of a drawing, to a hundredth of a pixel.</summary>
    public static string Px(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    /// <summary>A number as an attribute that is read back.</summary>
    public static string Exact(double value) => value.ToString("R", CultureInfo.InvariantCulture);

    /// <summary>A value of a column of the readings, without its unit.</summary>
    public static string Value(ReadingsColumn column, double value) =>
        double.IsNaN(value) ? "—" : Engineering.Fixed(value / column.Scale, column.Decimals);

    /// <summary>The same with its unit.</summary>
    public static string ValueWithUnit(ReadingsColumn column, double value) => Engineering.WithUnit(Value(column, value), column.ShownUnit);

    /// <summary>A name before its value; nothing for one that is its own unit, such as pH.</summary>
    public static string Named(string name, string unit) => name == unit ? "" : Title(name) + " ";

    /// <summary>First letter large, but in a symbol such as pH.</summary>
    public static string Title(string text) => text.Length == 0 || (text.Length <= 3 && text.Any(char.IsUpper)) ? text : char.ToUpperInvariant(text[0]) + text[1..];
}
