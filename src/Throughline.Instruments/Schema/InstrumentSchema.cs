using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>
/// The JSON Schema (draft 2020-12) of the instrument file. It accepts exactly what the reader's shapes accept; names that nothing has, and numbers
/// against physics or against each other, are beyond a schema and are found by the reader alone.
/// </summary>
public static class InstrumentSchema
{
    private static readonly JsonSerializerOptions Options = new()
    {
        WriteIndented = true,
        NewLine = "\n",

        // Ω, µ, °C and ± are what the file is written in; an escaped schema could not be read by a person.
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>The schema of an instrument file, as JSON text that ends with a line break.</summary>
    public static string Create() => Write(InstrumentShape.Root, "Instrument file");

    /// <summary>The schema of a parts file.</summary>
    public static string CreateParts() => Write(PartsLibrary.Shape, "Parts file");

    private static string Write(MapShape root, string title)
    {
        SchemaWriter writer = new();
        JsonObject reference = root.ToSchema(writer);
        JsonObject schema = new()
        {
            ["$schema"] = "https://json-schema.org/draft/2020-12/schema",
            ["title"] = title,
            ["description"] = root.Doc,
            ["$ref"] = reference["$ref"]!.DeepClone(),
            ["$defs"] = writer.Definitions,
        };
        return schema.ToJsonString(Options) + "\n";
    }
}
