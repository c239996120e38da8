using System.Globalization;
using System.Text.RegularExpressions;

namespace Throughline.Toolchains;

/// <summary>Sizes of the areas of an object file as text, lines such as <c>A CODE size 2F0 flags 0 addr 0</c>, and of a linker's map, lines such as <c>CODE  00008080  000003F1 =  1009. bytes</c>.</summary>
internal static partial class AreaSizes
{
    /// <summary>Bytes of every area of an object file.</summary>
    public static Dictionary<string, long> OfObject(string text) => Sum(ObjectArea().Matches(text), NumberStyles.HexNumber);

    /// <summary>Bytes of every area of a linked program.</summary>
    public static Dictionary<string, long> OfMap(string text) => Sum(MapArea().Matches(text), NumberStyles.None);

    private static Dictionary<string, long> Sum(MatchCollection matches, NumberStyles style)
    {
        Dictionary<string, long> sizes = new(StringComparer.Ordinal);
        foreach (Match match in matches)
        {
            sizes[match.Groups[1].Value] = sizes.GetValueOrDefault(match.Groups[1].Value) + long.Parse(match.Groups[2].Value, style, CultureInfo.InvariantCulture);
        }

        return sizes;
    }

    [GeneratedRegex(@"^A (\S+) size ([0-9A-F]+) ", RegexOptions.Multiline)]
    private static partial Regex ObjectArea();

    [GeneratedRegex(@"^(\S+)\s+[0-9A-F]+\s+[0-9A-F]+ =\s+([0-9]+)\. bytes", RegexOptions.Multiline)]
    private static partial Regex MapArea();
}
