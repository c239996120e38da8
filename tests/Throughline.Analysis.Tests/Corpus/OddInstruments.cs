using System.Text.RegularExpressions;
using Throughline.Instruments;
using Throughline.Testing;

namespace Throughline.Analysis.Tests.Corpus;

/// <summary>Readable instruments that no designer would draw: demos and cases with stages, parts, keys and values dropped, doubled, exchanged and moved.</summary>
internal static partial class OddInstruments
{
    private const int MostAttempts = 40;

    private static readonly string[] Units = ["V", "mV", "Ω", "kΩ", "MΩ", "mA", "µA", "nA", "°C", "pH", "LSB", "mV/V", "kPa", "kg"];

    private static readonly (string Folder, string Text)[] Seeds = [.. FindSeeds()];

    /// <summary>The number of seeds that mutations start from.</summary>
    public static int SeedCount => Seeds.Length;

    /// <summary>The same readable instrument for a number, always.</summary>
    public static Instrument Create(int number)
    {
        // Prime steps keep neighbouring generators apart.
        Random random = new(7_919 * (number + 1));
        (string folder, string seed) = Seeds[number % Seeds.Length];
        for (int attempt = 0; attempt < MostAttempts; attempt++)
        {
            string text = seed;
            for (int changes = random.Next(1, 5); changes > 0; changes--)
            {
                text = Mutate(text, random);
            }

            if (InstrumentReader.ReadText(FormattableString.Invariant($"odd-{number}.yaml"), text, folder).Value is { } instrument)
            {
                return instrument;
            }
        }

        return InstrumentReader.ReadText(FormattableString.Invariant($"odd-{number}.yaml"), seed, folder).Value
            ?? throw new InvalidOperationException($"The seed in {folder} can't be read.");
    }

    private static IEnumerable<(string, string)> FindSeeds()
    {
        IEnumerable<string> files = Directory.EnumerateFiles(Repository.PathOf("demo"), "instrument.yaml", SearchOption.AllDirectories)
            .Concat(Directory.EnumerateFiles(Repository.PathOf("tests", "cases"), "*.yaml"));
        foreach (string file in files.Order(StringComparer.Ordinal))
        {
            // Comments and settings that no computation reads only take the mutations' place.
            IEnumerable<string> lines = File.ReadLines(file).Select(l => Comment().Replace(l, "")).Where(l => l.Length > 0)
                .TakeWhile(l => !l.StartsWith("memory:", StringComparison.Ordinal) && !l.StartsWith("panel:", StringComparison.Ordinal));
            yield return (Path.GetDirectoryName(file)!, string.Join('\n', lines) + "\n");
        }
    }

    private static string Mutate(string text, Random random) => random.Next(12) switch
    {
        0 => DropLine(text, random),
        1 => DoubleLine(text, random),
        2 => SwapLines(text, random),
        3 => DropEntry(text, random),
        4 => DropStage(text, random),
        5 => DoubleStage(text, random),
        6 => SwapStages(text, random),
        7 => DropSection(text, random),
        8 or 9 => ChangeNumber(text, random),
        10 => ExchangeNodes(text, random),
        _ => TakeValue(text, random),
    };

    private static string DropLine(string text, Random random)
    {
        List<string> lines = [.. text.Split('\n')];
        lines.RemoveAt(random.Next(lines.Count));
        return string.Join('\n', lines);
    }

    private static string DoubleLine(string text, Random random)
    {
        List<string> lines = [.. text.Split('\n')];
        int at = random.Next(lines.Count);
        lines.Insert(at, lines[at].Replace(":", random.Next(2) == 0 ? "x:" : "2:", StringComparison.Ordinal));
        if (PartName().Match(lines[at + 1]) is { Success: true } name)
        {
            lines[at] = lines[at + 1][..(name.Index + name.Length)] + "x" + lines[at + 1][(name.Index + name.Length)..];
        }

        return string.Join('\n', lines);
    }

    private static string SwapLines(string text, Random random)
    {
        string[] lines = text.Split('\n');
        int at = random.Next(lines.Length);
        int indent = Indent(lines[at]);
        int[] alike = [.. Enumerable.Range(0, lines.Length).Where(i => Indent(lines[i]) == indent)];
        int other = alike[random.Next(alike.Length)];
        (lines[at], lines[other]) = (lines[other], lines[at]);
        return string.Join('\n', lines);
    }

    private static string DropEntry(string text, Random random)
    {
        Match[] entries = [.. Entry().Matches(text).Cast<Match>()];
        return entries.Length == 0 ? text : text.Remove(entries[random.Next(entries.Length)] is var e ? e.Index : 0, e.Length);
    }

    private static string DropStage(string text, Random random) => WithStages(text, stages =>
    {
        if (stages.Count > 0)
        {
            stages.RemoveAt(random.Next(stages.Count));
        }
    });

    /// <summary>The copy's names get a tail; in half of the cases its nodes do too.</summary>
    private static string DoubleStage(string text, Random random) => WithStages(text, stages =>
    {
        if (stages.Count > 0)
        {
            int at = random.Next(stages.Count);
            string copy = StageName().Replace(stages[at], m => m.Value.Replace(":", "x:", StringComparison.Ordinal), 1);
            copy = PartNames().Replace(copy, m => m.Value + "x");
            stages.Insert(random.Next(stages.Count + 1), copy);
        }
    });

    private static string SwapStages(string text, Random random) => WithStages(text, stages =>
    {
        if (stages.Count > 1)
        {
            int a = random.Next(stages.Count);
            int b = random.Next(stages.Count);
            (stages[a], stages[b]) = (stages[b], stages[a]);
        }
    });

    private static string DropSection(string text, Random random)
    {
        List<string> sections = [.. SectionStart().Split(text)];
        sections.RemoveAll(s => s.Length == 0);
        int at = random.Next(sections.Count);
        bool isNeeded = sections[at].StartsWith("instrument", StringComparison.Ordinal) || sections[at].StartsWith("spec", StringComparison.Ordinal)
            || sections[at].StartsWith("sensor", StringComparison.Ordinal);
        if (!isNeeded)
        {
            sections.RemoveAt(at);
        }

        return string.Concat(sections);
    }

    private static string ChangeNumber(string text, Random random)
    {
        Match[] numbers = [.. Number().Matches(text).Cast<Match>()];
        if (numbers.Length == 0)
        {
            return text;
        }

        Match number = numbers[random.Next(numbers.Length)];
        string with = random.Next(8) switch
        {
            0 => "0",
            1 => number.Value + "0",
            2 => number.Value + "000000",
            3 => "0.001",
            4 => "-" + number.Value,
            5 => "1",
            6 => number.Value + " " + Units[random.Next(Units.Length)],
            _ => numbers[random.Next(numbers.Length)].Value,
        };
        return text[..number.Index] + with + text[(number.Index + number.Length)..];
    }

    private static string ExchangeNodes(string text, Random random)
    {
        Match[] pairs = [.. Pair().Matches(text).Cast<Match>()];
        if (pairs.Length == 0)
        {
            return text;
        }

        Match pair = pairs[random.Next(pairs.Length)];
        Match other = pairs[random.Next(pairs.Length)];
        string with = random.Next(4) switch
        {
            0 => $"[{pair.Groups[2].Value}, {pair.Groups[1].Value}]",
            1 => $"[{pair.Groups[1].Value}, {other.Groups[2].Value}]",
            2 => $"[{pair.Groups[1].Value}, {pair.Groups[1].Value}]",
            _ => other.Value,
        };
        return text[..pair.Index] + with + text[(pair.Index + pair.Length)..];
    }

    /// <summary>Puts the value of one entry where that of another of the same key was.</summary>
    private static string TakeValue(string text, Random random)
    {
        Match[] values = [.. KeyedValue().Matches(text).Cast<Match>()];
        if (values.Length == 0)
        {
            return text;
        }

        Match value = values[random.Next(values.Length)];
        Match[] alike = [.. values.Where(v => v.Groups["key"].Value == value.Groups["key"].Value)];
        Group there = value.Groups["value"];
        return text[..there.Index] + alike[random.Next(alike.Length)].Groups["value"].Value + text[(there.Index + there.Length)..];
    }

    private static string WithStages(string text, Action<List<string>> change)
    {
        int start = text.IndexOf("stages:\n", StringComparison.Ordinal);
        if (start < 0)
        {
            return text;
        }

        start += "stages:\n".Length;
        int end = start;
        while (end < text.Length && text[end] == ' ')
        {
            int line = text.IndexOf('\n', end);
            end = line < 0 ? text.Length : line + 1;
        }

        List<string> stages = [.. StageStart().Split(text[start..end]).Where(s => s.Length > 0)];
        change(stages);
        return text[..start] + string.Concat(stages) + text[end..];
    }

    private static int Indent(string line) => line.Length - line.TrimStart().Length;

    [GeneratedRegex(@"\s*(^|\s)#.*$")]
    private static partial Regex Comment();

    [GeneratedRegex(@"(?<=^\s+)[A-Z][A-Za-z0-9]*(?=:)")]
    private static partial Regex PartName();

    [GeneratedRegex(@"(?<=^\s+)(TP|[A-Z]{1,4})\d*(?=:)|\bTP\d+(?=:)", RegexOptions.Multiline)]
    private static partial Regex PartNames();

    [GeneratedRegex(@"^  - [a-z ]+:")]
    private static partial Regex StageName();

    [GeneratedRegex(@"(?=^  - )", RegexOptions.Multiline)]
    private static partial Regex StageStart();

    [GeneratedRegex(@"(?=^[a-z])", RegexOptions.Multiline)]
    private static partial Regex SectionStart();

    [GeneratedRegex(@", [a-zA-Z ]+: [^,\[\]{}\n]+(?=[,}])")]
    private static partial Regex Entry();

    [GeneratedRegex(@"(?<![A-Za-z0-9.])\d+(\.\d+)?")]
    private static partial Regex Number();

    [GeneratedRegex(@"\[([^\[\],]+), ([^\[\],]+)\]")]
    private static partial Regex Pair();

    [GeneratedRegex(@"(?<key>[a-z][a-z ]*): (?<value>[^,\[\]{}\n]+)")]
    private static partial Regex KeyedValue();
}
