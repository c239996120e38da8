using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using YamlDotNet.Core;
using YamlDotNet.RepresentationModel;

namespace Throughline.Instruments.Tests.Schema;

/// <summary>
/// YAML to JSON by the core schema, written from the regular expressions of YAML 1.2.2 section 10.3.2 and apart from the reader's own resolution, so
/// that a mistake in either shows.
/// </summary>
internal static class JsonOfYaml
{
    private static readonly Regex Null = new("^(?:null|Null|NULL|~|)$");
    private static readonly Regex Boolean = new("^(?:true|True|TRUE|false|False|FALSE)$");
    private static readonly Regex Integer = new("^[-+]?[0-9]+$");
    private static readonly Regex Octal = new("^0o[0-7]+$");
    private static readonly Regex Hexadecimal = new("^0x[0-9a-fA-F]+$");
    private static readonly Regex Float = new("^[-+]?(?:\\.[0-9]+|[0-9]+(?:\\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?$");

    public static JsonNode? Convert(string yaml)
    {
        YamlStream stream = [];
        stream.Load(new StringReader(yaml));
        return Convert(stream.Documents[0].RootNode);
    }

    private static JsonNode? Convert(YamlDotNet.RepresentationModel.YamlNode node)
    {
        switch (node)
        {
            case YamlMappingNode map:
                JsonObject converted = [];
                foreach ((YamlDotNet.RepresentationModel.YamlNode key, YamlDotNet.RepresentationModel.YamlNode value) in map.Children)
                {
                    converted[((YamlScalarNode)key).Value ?? ""] = Convert(value);
                }

                return converted;
            case YamlSequenceNode list:
                return new JsonArray([.. list.Children.Select(Convert)]);
            default:
                YamlScalarNode scalar = (YamlScalarNode)node;
                return Scalar(scalar.Value ?? "", scalar.Style == ScalarStyle.Plain);
        }
    }

    private static JsonValue? Scalar(string text, bool isPlain)
    {
        if (!isPlain)
        {
            return JsonValue.Create(text);
        }

        // `$` also stands before a last line break, which a plain scalar doesn't have.
        return Null.IsMatch(text) ? null
            : Boolean.IsMatch(text) ? JsonValue.Create(text[0] is 't' or 'T')
            : Integer.IsMatch(text) || Float.IsMatch(text) ? JsonValue.Create(double.Parse(text, CultureInfo.InvariantCulture))
            : Octal.IsMatch(text) ? JsonValue.Create(text[2..].Aggregate(0.0, (sum, c) => (sum * 8) + (c - '0')))
            : Hexadecimal.IsMatch(text) ? JsonValue.Create(text[2..].Aggregate(0.0, (sum, c) => (sum * 16) + System.Convert.ToInt32(c.ToString(), 16)))
            : JsonValue.Create(text);
    }
}
