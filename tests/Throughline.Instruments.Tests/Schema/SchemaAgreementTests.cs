using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;
using Xunit;

namespace Throughline.Instruments.Tests.Schema;

/// <summary>The JSON Schema, judged by an independent validator, accepts exactly the files in which the reader finds nothing of the class shape.</summary>
public class SchemaAgreementTests
{
    private static readonly JsonSchema Instruments = JsonSchema.FromText(InstrumentSchema.Create());
    private static readonly JsonSchema Parts = JsonSchema.FromText(InstrumentSchema.CreateParts());
    private static readonly EvaluationOptions Fast = new() { OutputFormat = OutputFormat.Flag };
    private static readonly JsonSerializerOptions Readable = new() { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static readonly string[] Scalars =
    [
        "4.7 kΩ", "4k7", "2.5 V", "2.5 V ±0.2 %", "−12 V", "10 mA", "100n", "5 .. 45 °C", "3.00 .. 9.00", "±5 mV", "±0.5 % of span", "every 30 days", "25 °C", "50 %", "±2 LSB", "1 MHz",
        "65 pA typ, 400 pA max", "8 s", "100 dB min", "0.02 pH/week", "±0.1 %/year", "4.5 digit", "256 B", "100 k writes", "dc", "open", "Pt100", "glass electrode", "table", "adc", "arithmetic", "circuit", "node",
        "two words", "", " ", "=R", "20 x 4", "u8", "measured", "32 bit", "plain", "kg", "°C", "2 mV/V", "7.5 K", "350 Ω", "Ω", "K", "rectangular", "normal 3 σ", "sorted normal 2.5 sigma", "normal",
    ];

    [Fact]
    public void Schema_FilesOfTheRepository_AreAcceptedByBoth()
    {
        string[] texts = [Samples.Small, Samples.Tiny, .. Samples.Files.Select(File.ReadAllText)];
        Assert.True(texts.Length > 20);
        foreach (string text in texts)
        {
            Assert.Empty(InstrumentReader.ReadText("t.yaml", text).Diagnostics.Where(d => Codes.ClassOf(d.Code) == DiagnosticClass.Shape));
            Assert.True(Accepts(Instruments, JsonOfYaml.Convert(text)), text);
        }
    }

    [Fact]
    [Trait("Length", "long")]
    public void Schema_FilesWithSpoiltStructure_AgreesWithTheReader()
    {
        string[] seeds = [Samples.Small, Samples.Small, Samples.Tiny, .. Samples.Files.Where((_, i) => i % 4 == 0).Select(File.ReadAllText), .. SensorSeeds(), .. PartSeeds()];
        JsonNode[] trees = [.. seeds.Select(s => JsonOfYaml.Convert(s)!)];
        (int accepted, int refused) = Compare(Instruments, trees, 4500, InstrumentShape.Root);
        Assert.True(accepted > 300 && refused > 2000, $"{accepted} accepted, {refused} refused");
    }

    [Fact]
    [Trait("Length", "long")]
    public void Schema_PartsFilesWithSpoiltStructure_AgreesWithTheReader()
    {
        using Stream generic = typeof(InstrumentReader).Assembly.GetManifestResourceStream("generic-parts.yaml")!;
        JsonObject whole = (JsonObject)JsonOfYaml.Convert(new StreamReader(generic).ReadToEnd())!;
        JsonObject small = new()
        {
            ["grades"] = new JsonObject
            {
                ["op amp"] = new JsonObject { ["a"] = whole["grades"]!["op amp"]!["jfet input"]!.DeepClone() },
                ["instrumentation amplifier"] = new JsonObject { ["b"] = whole["grades"]!["instrumentation amplifier"]!["precision"]!.DeepClone() },
                ["diode"] = new JsonObject { ["c"] = whole["grades"]!["diode"]!["schottky"]!.DeepClone() },
                ["transistor"] = new JsonObject { ["d"] = whole["grades"]!["transistor"]!["npn small signal"]!.DeepClone() },
                ["isolation amplifier"] = new JsonObject { ["e"] = whole["grades"]!["isolation amplifier"]!["capacitive"]!.DeepClone() },
            },
            ["blocks"] = whole["blocks"]!.DeepClone(),
        };
        Assert.True(Accepts(Parts, whole));
        (int accepted, int refused) = Compare(Parts, [small], 1500, PartsLibrary.Shape);
        Assert.True(accepted > 50 && refused > 300, $"{accepted} accepted, {refused} refused");
    }

    [Fact] // YAML's own types: what looks like a number, a boolean or nothing at all, and is quoted or not
    public void Schema_PlainAndQuotedScalars_AgreesWithTheReader()
    {
        string[] written = ["12", "'12'", "12.0", "12.5", "0xC", "0o14", "1e1", "true", "True", "yes", "'true'", "~", "null", "", "\"\"", "7.", ".5", "+5", "-5", "4k7", "1_000", "[]", "{}", "2", "\"2\"", "0", "-0"];
        (string Sound, string Stem)[] places =
        [
            ("bits: 12,", "bits: "), ("average: 64,", "average: "), ("revision: 2\n", "revision: "), ("settable: true", "settable: "), ("turns: 12,", "turns: "), ("keys: 4,", "keys: "),
            ("display: { step: 0.1 kPa,", "display: { step: "), ("instrument: Pressure transmitter\n", "instrument: "), ("from: sense\n", "from: "), ("factory: 0", "factory: "),
            ("range: 0 .. 100 kPa\n", "range: "), ("words: 32 bit", "words: "), ("meter: 4.5 digit", "meter: "),
        ];
        int accepted = 0;
        foreach ((string sound, string stem) in places)
        {
            Assert.Contains(sound, Samples.Small, StringComparison.Ordinal);
            string end = sound.EndsWith(',') ? "," : sound.EndsWith('\n') ? "\n" : "";
            foreach (string scalar in written)
            {
                string text = Samples.Small.Replace(sound, stem + scalar + end, StringComparison.Ordinal);
                bool reader = !InstrumentReader.ReadText("t.yaml", text).Diagnostics.Any(d => Codes.ClassOf(d.Code) == DiagnosticClass.Shape);
                Assert.True(reader == Accepts(Instruments, JsonOfYaml.Convert(text)), $"{stem}{scalar}: the reader {(reader ? "accepts" : "refuses")}");
                accepted += reader ? 1 : 0;
            }
        }

        Assert.True(accepted > 50);
    }

    private static (int Accepted, int Refused) Compare(JsonSchema schema, JsonNode[] seeds, int count, MapShape shape)
    {
        int accepted = 0;
        int refused = 0;
        List<string> differences = [];
        Lock gate = new();
        Parallel.For(0, count, i =>
        {
            Random random = new(1_000_003 * (i + 1));
            JsonNode tree = seeds[i % seeds.Length].DeepClone();
            int changes = random.Next(1, 4);
            for (int change = 0; change < changes; change++)
            {
                Mutate(tree, random);
            }

            // JSON is YAML: what the schema judges as a tree, the reader reads as a text.
            string text = tree.ToJsonString(Readable);
            DiagnosticSink sink = new();
            YamlNode? root = YamlReader.Read(new SourceText("t.yaml", text), sink);
            if (root is null || sink.Count > 0)
            {
                return;
            }

            shape.Check(root, new ShapeContext(sink));
            bool reader = !sink.HasAny(DiagnosticClass.Shape);
            bool validator = Accepts(schema, tree);
            lock (gate)
            {
                accepted += reader ? 1 : 0;
                refused += reader ? 0 : 1;
                if (reader != validator)
                {
                    differences.Add($"#{i}: the reader {(reader ? "accepts" : "refuses: " + string.Join("; ", sink.ToSorted().Take(3).Select(d => $"{d.Span} {d.Message}")))}, the schema does not agree");
                }
            }
        });
        Assert.Empty(differences.Order(StringComparer.Ordinal).Take(5));
        return (accepted, refused);
    }

    private static void Mutate(JsonNode tree, Random random)
    {
        List<JsonNode> containers = [];
        Collect(tree, containers);
        JsonNode container = containers[random.Next(containers.Count)];
        if (container is JsonObject map)
        {
            string[] keys = [.. map.Select(p => p.Key)];
            string? key = keys.Length == 0 ? null : keys[random.Next(keys.Length)];
            switch (random.Next(7))
            {
                case 0 when key is not null:
                    map.Remove(key);
                    break;
                case 1 when key is not null:
                    JsonNode? renamed = map[key]?.DeepClone();
                    map.Remove(key);
                    map[Spoilt(key, random)] = renamed;
                    break;
                case 2:
                    map[Key(tree, random)] = Value(tree, random);
                    break;
                default:
                    if (key is not null)
                    {
                        map[key] = random.Next(3) == 0 ? Other(map[key], random) : Value(tree, random);
                    }

                    break;
            }
        }
        else if (container is JsonArray list)
        {
            int at = list.Count == 0 ? 0 : random.Next(list.Count);
            switch (random.Next(4))
            {
                case 0 when list.Count > 0:
                    list.RemoveAt(at);
                    break;
                case 1:
                    list.Insert(at, Value(tree, random));
                    break;
                case 2 when list.Count > 0:
                    list.Add(list[at]?.DeepClone());
                    break;
                default:
                    if (list.Count > 0)
                    {
                        list[at] = Value(tree, random);
                    }

                    break;
            }
        }
    }

    /// <summary>A scalar of the tree or of the list, a number, another type, or a whole subtree from elsewhere.</summary>
    private static JsonNode? Value(JsonNode tree, Random random)
    {
        switch (random.Next(12))
        {
            case 0:
                return null;
            case 1:
                return JsonValue.Create(random.Next(2) == 0);
            case 2:
                return JsonValue.Create((double)random.Next(-5, 70));
            case 3:
                return JsonValue.Create(random.Next(-100, 100) / 8.0);
            case 4:
                return new JsonArray("a", "b");
            case 5:
                return new JsonObject();
            case 6:
            case 7:
                List<JsonNode> containers = [];
                Collect(tree, containers);
                return containers[random.Next(containers.Count)].DeepClone();
            default:
                return JsonValue.Create(Scalars[random.Next(Scalars.Length)]);
        }
    }

    /// <summary>The same text with a small change: another unit, a lost blank, a doubled letter.</summary>
    private static JsonNode? Other(JsonNode? value, Random random)
    {
        if (value?.GetValueKind() != JsonValueKind.String)
        {
            return JsonValue.Create("x");
        }

        string text = value.GetValue<string>();
        return random.Next(6) switch
        {
            0 => text.Replace("Ω", "V", StringComparison.Ordinal),
            1 => text.Replace(" ", "", StringComparison.Ordinal),
            2 => text + " ±1 %",
            3 => "−" + text,
            4 => text + " max",
            _ => Spoilt(text, random),
        };
    }

    private static string Spoilt(string word, Random random)
    {
        if (word.Length == 0)
        {
            return "x";
        }

        int at = random.Next(word.Length);
        return random.Next(3) switch
        {
            0 => word.Remove(at, 1),
            1 => word.Insert(at, word[at].ToString()),
            _ => word.Insert(at, "x"),
        };
    }

    private static string Key(JsonNode tree, Random random)
    {
        List<JsonNode> containers = [];
        Collect(tree, containers);
        string[] keys = [.. containers.OfType<JsonObject>().SelectMany(o => o.Select(p => p.Key)), "kind", "block", "link", "5 V", "2048", "0 kPa"];
        return keys[random.Next(keys.Length)];
    }

    private static void Collect(JsonNode? node, List<JsonNode> containers)
    {
        switch (node)
        {
            case JsonObject map:
                containers.Add(map);
                foreach ((_, JsonNode? value) in map)
                {
                    Collect(value, containers);
                }

                break;
            case JsonArray list:
                containers.Add(list);
                foreach (JsonNode? value in list)
                {
                    Collect(value, containers);
                }

                break;
        }
    }

    /// <summary>One small file for each kind of sensor, from the examples of the shapes.</summary>
    private static IEnumerable<string> SensorSeeds() =>
        SensorKinds.All.Where(k => k.Shape.Example is not null)
            .Select(k => $"instrument: S\nspecification: {{ measurand: pressure, range: 0 .. 1 kPa }}\nsensor: {k.Shape.Example!.Replace("sensor: ", "", StringComparison.Ordinal)}\n");

    /// <summary>One small file for each kind of part.</summary>
    private static IEnumerable<string> PartSeeds() =>
        PartKinds.Shape.Kinds.Where(k => k.Example is not null)
            .Select(k => Samples.Tiny.Replace("R1: { resistor: 4k7, between: [s, a] }", k.Example, StringComparison.Ordinal));

    private static bool Accepts(JsonSchema schema, JsonNode? node)
    {
        using JsonDocument document = JsonDocument.Parse(node?.ToJsonString() ?? "null");
        return schema.Evaluate(document.RootElement, Fast).IsValid;
    }
}
