using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;

namespace Throughline.Commands;

/// <summary>Options and arguments that several commands share, and how numbers are read from a command line.</summary>
internal static class Words
{
    /// <summary>The help names by which the completion scripts know what kind of path an argument is.</summary>
    public const string File = "FILE";

    public const string Folder = "FOLDER";

    public static Option<bool> Json() => new("--json") { Description = "Write JSON instead of text; docs/json.md says its shape." };

    public static Argument<string> FileArgument(string name = File, string description = "The instrument file.") => new(name)
    {
        Description = description,
        HelpName = name,
    };

    /// <summary>The option that chooses values of the measurand.</summary>
    public static Option<double[]> At() => new("--at")
    {
        Description = "Values of the measurand in its unit, with commas between: --at 3.6,7. Without it, the ends and quarters of the range.",
        HelpName = "VALUES",
        CustomParser = result => Values(result, "--at", "3.6,7"),
    };

    /// <summary>An option that takes several numbers.</summary>
    public static Option<double[]> Numbers(string name, string helpName, string description, string example) => new(name)
    {
        Description = description,
        HelpName = helpName,
        CustomParser = result => Values(result, name, example),
    };

    /// <summary>An option that takes one number, with or without its unit.</summary>
    public static Option<double?> Number(string name, string helpName, string description, double least, double greatest, params string[] units) =>
        new(name)
        {
            Description = description,
            HelpName = helpName,
            CustomParser = result =>
            {
                string text = result.Tokens[0].Value;
                if (TryNumber(text, units, out double value) && value >= least && value <= greatest)
                {
                    return value;
                }

                string range = FormattableString.Invariant($"{least} to {greatest}").Replace('-', '−');
                result.AddError($"{name} takes a number from {range}{(units.Length > 0 ? " " + units[0] : "")}, and '{text}' is none.");
                return null;
            },
        };

    /// <summary>Reads a number as people write it: a true minus or a hyphen, one of the units behind it or none.</summary>
    public static bool TryNumber(string text, IReadOnlyList<string> units, out double value)
    {
        string number = text.Trim();
        string? unit = units.FirstOrDefault(u => number.EndsWith(u, StringComparison.Ordinal));
        if (unit is not null)
        {
            number = number[..^unit.Length].TrimEnd(' ', '\u00A0', '\u2009', '\u202F');
        }

        return double.TryParse(number.Replace('−', '-'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out value)
            && double.IsFinite(value);
    }

    private static double[]? Values(ArgumentResult result, string name, string example)
    {
        List<double> values = [];
        foreach (string text in result.Tokens.SelectMany(token => token.Value.Split(',')))
        {
            if (!TryNumber(text, [], out double value))
            {
                result.AddError($"{name} takes numbers with commas between, such as {example}, and '{text}' is none.");
                return null;
            }

            values.Add(value);
        }

        return [.. values];
    }
}
