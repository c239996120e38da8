using System.Collections.Concurrent;
using System.Text.Json;
using System.Text.RegularExpressions;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>Holds what <c>--json</c> writes to docs/json.md, property by property and type by type, and the page to what is written.</summary>
public sealed partial class JsonTests
{
    private static readonly Dictionary<string, Dictionary<string, string>> Page = ReadPage();
    private static readonly ConcurrentDictionary<string, Invocation> Known = new();

    public static TheoryData<string, string> Documents => new()
    {
        { "check vat.yaml sound.yaml broken.yaml nowhere.yaml", "Review document" },
        { "readings vat.yaml", "Readings document" },
        { "readings broken.yaml", "Readings document" },
        { "budget vat.yaml", "Budget document" },
        { "budget broken.yaml", "Budget document" },
        { "response vat.yaml", "Response document" },
        { "response broken.yaml", "Response document" },
        { "faults vat.yaml", "Faults document" },
        { "faults broken.yaml", "Faults document" },
        { "bom broken.yaml", "Bill document" },
        { "firmware broken.yaml", "Firmware document" },
        { "panel broken.yaml", "Panel document" },
        { "compare sound.yaml vat.yaml", "Comparison document" },
        { "compare sound.yaml broken.yaml", "Comparison document" },
        { "completions bash", "Completions document" },
        { "completions zsh", "Completions document" },
    };

    /// <summary>Documents whose parts only a real instrument has.</summary>
    public static TheoryData<string, string> RealDocuments => new()
    {
        { "batch DEMO --units 1024 --causes 2", "Batch document" },
        { "batch DEMO --unit 3", "Unit document" },
        { "loop DEMO --current 12", "Loop document" },
        { "loop TRIMMED", "Loop document" },
        { "loop DUCT --voltage 2.5", "Loop document" },
        { "firmware DUCT", "Firmware document" },
        { "panel DUCT", "Panel document" },
        { "supplies DEMO", "Supplies document" },
        { "firmware DEMO", "Firmware document" },
        { "firmware DEMO --code 2048", "Firmware document" },
        { "firmware TRIMMED", "Firmware document" },
        { "panel DEMO", "Panel document" },
        { "firmware BLANK", "Firmware document" },
        { "compare DEMO SCALE", "Comparison document" },
    };

    /// <summary>Those that take long: every choice of classes is checked, compilers and processors run.</summary>
    public static TheoryData<string, string> LongDocuments => new()
    {
        { "bom DEMO --classes", "Bill document" },
        { "firmware DEMO --build", "Firmware document" },
    };

    [Theory]
    [MemberData(nameof(LongDocuments))]
    [Trait("Length", "long")]
    public void Document_ThatTakesLong_IsAsDocumented(string arguments, string section) => Document_OfARealInstrument_IsAsDocumented(arguments, section);

    [Theory]
    [MemberData(nameof(RealDocuments))]
    public void Document_OfARealInstrument_IsAsDocumented(string arguments, string section)
    {
        using JsonDocument document = JsonDocument.Parse(Real(arguments).Output);
        Assert.Empty(Complaints(document.RootElement, $"[{section}]", "$", []));
    }

    // Two tests read each of them, and some take long.
    private static Invocation Real(string arguments) => Known.GetOrAdd(arguments, Run);

    private static Invocation Run(string arguments) => Invocation.OfWords(
        [.. arguments.Split(' ').Select(w => w switch
        {
            "DEMO" => Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"),
            "TRIMMED" => Repository.PathOf("demo", "hopper-bridge", "instrument.yaml"),
            "DUCT" => Repository.PathOf("demo", "duct-temperature", "instrument.yaml"),
            "BLANK" => Repository.PathOf("tests", "cases", "06-blank-settings.yaml"),
            "SCALE" => Repository.PathOf("demo", "nutrient-ph", "flawed", "13-scale-end.yaml"),
            _ => w,
        }), "--json"], Engine.Default);

    [Theory]
    [MemberData(nameof(Documents))]
    public void Document_OfACommand_IsAsDocumented(string arguments, string section)
    {
        Invocation invocation = Invocation.Of(arguments + " --json");
        Assert.Equal("", invocation.Error);
        Assert.EndsWith("}\n", invocation.Output, StringComparison.Ordinal);
        using JsonDocument document = JsonDocument.Parse(invocation.Output);
        HashSet<string> seen = [];
        Assert.Empty(Complaints(document.RootElement, $"[{section}]", "$", seen));
    }

    [Fact]
    public void NewDocument_IsAsDocumented()
    {
        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            Invocation invocation = Invocation.OfWords(["new", Path.Combine(folder, "a"), "--json"]);
            using JsonDocument document = JsonDocument.Parse(invocation.Output);
            Assert.Empty(Complaints(document.RootElement, "[Files document]", "$", []));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    // Without this the check above could pass over samples in which half of the page never occurs.
    [Fact]
    [Trait("Length", "long")]
    public void EverySection_OfThePage_OccursInTheSamples()
    {
        HashSet<string> seen = ["Files document"];   // held by its own test
        foreach ((string arguments, string section) in Documents.Select(row => row.Data))
        {
            using JsonDocument document = JsonDocument.Parse(Invocation.Of(arguments + " --json").Output);
            Complaints(document.RootElement, $"[{section}]", "$", seen);
        }

        foreach ((string arguments, string section) in RealDocuments.Concat(LongDocuments).Select(row => row.Data))
        {
            using JsonDocument document = JsonDocument.Parse(Real(arguments).Output);
            Complaints(document.RootElement, $"[{section}]", "$", seen);
        }

        Assert.Equal(Page.Keys.Order(StringComparer.Ordinal), seen.Order(StringComparer.Ordinal));
    }

    // RFC 8259, section 6: numeric values that cannot be represented, such as Infinity and NaN, are not permitted.
    [Fact]
    public void NumbersThatDoNotExist_AreNull()
    {
        Engine engine = Samples.Engine with
        {
            Review = _ => Samples.Review with
            {
                Findings = [Samples.Headroom with { Margin = double.NaN, Figures = [new("a", double.PositiveInfinity, "V"), new("b", double.NaN, "")] }],
            },
        };
        Invocation invocation = Invocation.Of("check vat.yaml --json", engine);
        using JsonDocument document = JsonDocument.Parse(invocation.Output);
        JsonElement finding = document.RootElement.GetProperty("files")[0].GetProperty("findings")[0];
        Assert.Equal(JsonValueKind.Null, finding.GetProperty("margin").ValueKind);
        Assert.All(finding.GetProperty("figures").EnumerateArray(), figure => Assert.Equal(JsonValueKind.Null, figure.GetProperty("value").ValueKind));
    }

    [Fact]
    public void Numbers_ReadBack_AreTheSameBits()
    {
        double value = 0.1 + 0.2;
        Engine engine = Samples.Engine with { Review = _ => Samples.Review with { Findings = [Samples.Headroom with { Margin = value }] } };
        using JsonDocument document = JsonDocument.Parse(Invocation.Of("check vat.yaml --json", engine).Output);
        Assert.Equal(value, document.RootElement.GetProperty("files")[0].GetProperty("findings")[0].GetProperty("margin").GetDouble());
    }

    [Fact]
    public void Place_OfAMistake_CountsFromOne()
    {
        using JsonDocument document = JsonDocument.Parse(Invocation.Of("check broken.yaml --json").Output);
        JsonElement place = document.RootElement.GetProperty("files")[0].GetProperty("mistakes")[0].GetProperty("place");
        string line = Samples.Text.Split('\n')[place.GetProperty("line").GetInt32() - 1];
        int column = place.GetProperty("column").GetInt32();
        Assert.Equal("20.0 kV", line[(column - 1)..(place.GetProperty("endColumn").GetInt32() - 1)]);
    }

    /// <summary>What of an element is not as the page says: an undocumented property, a missing one, one of another type.</summary>
    private static List<string> Complaints(JsonElement element, string type, string path, HashSet<string> seen)
    {
        if (type.EndsWith(" or null", StringComparison.Ordinal) && !type.StartsWith("list of ", StringComparison.Ordinal))
        {
            return element.ValueKind == JsonValueKind.Null ? [] : Complaints(element, type[..^" or null".Length], path, seen);
        }

        if (type.StartsWith("list of ", StringComparison.Ordinal))
        {
            return element.ValueKind == JsonValueKind.Array
                ? [.. element.EnumerateArray().SelectMany((item, i) => Complaints(item, type["list of ".Length..], $"{path}[{i}]", seen))]
                : [$"{path} is no list but {element.ValueKind}"];
        }

        if (type.StartsWith('['))
        {
            return ObjectComplaints(element, type[1..type.IndexOf(']', StringComparison.Ordinal)], path, seen);
        }

        bool fits = type switch
        {
            "text" => element.ValueKind == JsonValueKind.String,
            "number" => element.ValueKind == JsonValueKind.Number,
            "whole number" => element.ValueKind == JsonValueKind.Number && element.TryGetInt64(out _),
            "true or false" => element.ValueKind is JsonValueKind.True or JsonValueKind.False,
            _ => throw new FormatException($"docs/json.md has the type '{type}', which it does not explain."),
        };
        return fits ? [] : [$"{path} is no {type} but {element.ValueKind}"];
    }

    private static List<string> ObjectComplaints(JsonElement element, string section, string path, HashSet<string> seen)
    {
        if (element.ValueKind != JsonValueKind.Object)
        {
            return [$"{path} is no {section} but {element.ValueKind}"];
        }

        seen.Add(section);
        Dictionary<string, string> documented = Page[section];
        Dictionary<string, JsonElement> found = element.EnumerateObject().ToDictionary(property => property.Name, property => property.Value);
        return
        [
            .. found.Keys.Except(documented.Keys).Select(name => $"{path}.{name} is not documented"),
            .. documented.Keys.Except(found.Keys).Select(name => $"{path}.{name} is missing"),
            .. found.Where(pair => documented.ContainsKey(pair.Key))
                .SelectMany(pair => Complaints(pair.Value, documented[pair.Key], $"{path}.{pair.Key}", seen)),
        ];
    }

    private static Dictionary<string, Dictionary<string, string>> ReadPage()
    {
        Dictionary<string, Dictionary<string, string>> page = [];
        Dictionary<string, string>? section = null;
        foreach (string line in File.ReadLines(Repository.PathOf("docs", "json.md")))
        {
            if (line.StartsWith("## ", StringComparison.Ordinal))
            {
                page[line[3..]] = section = [];
            }
            else if (section is not null && PropertyRow().Match(line) is { Success: true } row)
            {
                section[row.Groups[1].Value] = row.Groups[2].Value;
            }
        }

        return page;
    }

    [GeneratedRegex(@"^\| `(\w+)` \| (.+?) \| ")]
    private static partial Regex PropertyRow();
}
