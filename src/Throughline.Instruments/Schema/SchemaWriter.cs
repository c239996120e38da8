using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>Gathers the definitions of a JSON Schema, so that what is used in many places is written once.</summary>
internal sealed class SchemaWriter(bool isTemplate = false)
{
    private SchemaWriter? _template;

    private readonly Dictionary<object, string> _names = new(ReferenceEqualityComparer.Instance);
    private readonly Dictionary<string, string> _patterns = [];

    public JsonObject Definitions { get; private init; } = [];

    /// <summary>Writes into the same definitions, with <c>=NAME</c> allowed for quantities.</summary>
    public SchemaWriter Template => isTemplate ? this : _template ??= new SchemaWriter(true) { Definitions = Definitions };

    /// <summary>Inside a block's definition, where <c>=NAME</c> may stand for any quantity.</summary>
    public bool IsTemplate => isTemplate;

    /// <summary>A reference to the definition of a shape, which is written on first use.</summary>
    public JsonObject Define(object shape, string name, Func<JsonObject> create)
    {
        if (!_names.TryGetValue(shape, out string? used))
        {
            used = Free(name);
            _names[shape] = used;

            // Holds the place so that definitions stand in the order in which they are met.
            Definitions[used] = new JsonObject();
            Definitions[used] = create();
        }

        return Reference(used);
    }

    /// <summary>A quantity: its text by a pattern, and a plain number where the unit may be left out.</summary>
    public JsonObject Quantity(QuantityForm form)
    {
        string key = form.Pattern + form.Bare + form.Signed + form.Expected;
        if (!_patterns.TryGetValue(key, out string? used))
        {
            used = Free(form.Units.Noun.Split(' ', 2)[^1]);
            _patterns[key] = used;
            JsonArray choices = [new JsonObject { ["type"] = "string", ["pattern"] = form.Pattern }];
            if (form.Bare && form.Extent != Extent.Range && form.Alone != ToleranceAlone.Required)
            {
                JsonObject number = new() { ["type"] = "number" };
                if (!form.Signed)
                {
                    number["minimum"] = 0;
                }

                choices.Add(number);
            }

            if (isTemplate)
            {
                choices.Add(new JsonObject { ["type"] = "string", ["pattern"] = PatternText.Whole(QuantityShape.PlaceholderPattern) });
            }

            Definitions[used] = new JsonObject { ["title"] = form.Expected, ["anyOf"] = choices };
        }

        return Reference(used);
    }

    private string Free(string name)
    {
        string hyphened = (isTemplate ? "template " : "") + name;
        hyphened = string.Concat(hyphened.Select(c => char.IsAsciiLetterOrDigit(c) ? c : '-'));
        string free = hyphened;
        for (int i = 2; Definitions.ContainsKey(free); i++)
        {
            free = FormattableString.Invariant($"{hyphened}-{i}");
        }

        return free;
    }

    private static JsonObject Reference(string name) => new() { ["$ref"] = "#/$defs/" + name };
}
