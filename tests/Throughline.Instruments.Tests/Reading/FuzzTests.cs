using System.Text;
using Xunit;

namespace Throughline.Instruments.Tests.Reading;

/// <summary>A hundred thousand spoilt files: whatever stands in a file, the reader ends with located diagnostics or an instrument.</summary>
public class FuzzTests
{
    private const int Bytes = 40_000;
    private const int Tokens = 40_000;
    private const int Lines = 24_000;

    private static readonly string[] Seeds = [Samples.Tiny, Samples.Tiny, .. Slices()];

    private static readonly string[] Words =
    [
        ":", ": ", "- ", ",", "{", "}", "[", "]", "\n", "\n  ", "\t", "&a ", "*a", "!!str ", "|", ">", "'", "\"", "#", "%", "@", "`", "?", "? ", "---\n", "...\n", "<<: ", "~", "null", "true", ".nan", "0x1F",
        "1e999", "4.7 kΩ", "4k7", "±150 %", "±5 µV/K", "5 .. 4 °C", "−273.16 °C", "=R", "typ", "max", "of span", "every", "kind", "parts", "between", "block", "resistor", "op amp", "supply", "spread", "normal 3 σ",
        "\u00B5", "\u2126", "\u0000", "\uFEFF", "\u0085", "\u2028", "😀", "\uD800", "\u202E", "\\", "\\u12", "999999999999999999999", "-", "+", "..", "…",
    ];

    [Fact]
    [Trait("Length", "long")]
    public void Read_SpoiltBytes_EndsWithLocatedDiagnostics() => Run(Bytes, (random, seed) =>
    {
        byte[] bytes = Encoding.UTF8.GetBytes(seed);
        for (int changes = random.Next(1, 6); changes > 0; changes--)
        {
            int at = random.Next(bytes.Length);
            switch (random.Next(4))
            {
                case 0:
                    bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
                case 1:
                    bytes[at] = (byte)random.Next(256);
                    break;
                case 2:
                    bytes = [.. bytes[..at], .. bytes[Math.Min(bytes.Length, at + random.Next(1, 9))..], (byte)'\n'];
                    break;
                default:
                    bytes = [.. bytes[..at], bytes[random.Next(bytes.Length)], .. bytes[at..]];
                    break;
            }
        }

        DiagnosticSink sink = new();
        return SourceFile.Decode(bytes, "f.yaml", sink)?.Content ?? Located(sink);
    });

    [Fact]
    [Trait("Length", "long")]
    public void Read_SpoiltTokens_EndsWithLocatedDiagnostics() => Run(Tokens, (random, seed) =>
    {
        StringBuilder text = new(seed);
        for (int changes = random.Next(1, 7); changes > 0; changes--)
        {
            int at = random.Next(text.Length);
            if (random.Next(3) == 0)
            {
                text.Remove(at, Math.Min(random.Next(1, 12), text.Length - at - 1));
            }

            text.Insert(Math.Min(at, text.Length), Words[random.Next(Words.Length)]);
        }

        return text.ToString();
    });

    [Fact]
    [Trait("Length", "long")]
    public void Read_SpoiltLines_EndsWithLocatedDiagnostics() => Run(Lines, (random, seed) =>
    {
        List<string> lines = [.. seed.Split('\n')];
        for (int changes = random.Next(1, 5); changes > 0; changes--)
        {
            int at = random.Next(lines.Count);
            int other = random.Next(lines.Count);
            switch (random.Next(6))
            {
                case 0 when lines.Count > 1:
                    lines.RemoveAt(at);
                    break;
                case 1:
                    lines.Insert(at, lines[other]);
                    break;
                case 2:
                    (lines[at], lines[other]) = (lines[other], lines[at]);
                    break;
                case 3:
                    lines[at] = "  " + lines[at];
                    break;
                case 4:
                    lines[at] = lines[at].TrimStart();
                    break;
                default:
                    lines[at] = lines[at][..random.Next(lines[at].Length + 1)];
                    break;
            }
        }

        return string.Join('\n', lines);
    });

    [Fact]
    public void Run_Counts_MakeAHundredThousand() => Assert.True(Bytes + Tokens + Lines >= 100_000);

    private static void Run(int count, Func<Random, string, string> spoil)
    {
        int read = 0;
        int refused = 0;
        Parallel.For(0, count, i =>
        {
            // Prime steps keep neighbouring generators apart.
            Random random = new(7_919 * (i + 1));
            string text = spoil(random, Seeds[i % Seeds.Length]);
            Parsed<Instrument> parsed;
            try
            {
                parsed = InstrumentReader.ReadText("f.yaml", text);
            }
            catch (Exception e)
            {
                throw new InvalidOperationException($"File {i} makes the reader throw:\n{text}", e);
            }

            Judge(parsed, text, i);
            Interlocked.Increment(ref parsed.Value is null ? ref refused : ref read);
        });
        Assert.True(refused > count / 4, $"only {refused} files were refused");
        Assert.Equal(count, read + refused);
    }

    private static void Judge(Parsed<Instrument> parsed, string text, int number)
    {
        string because = $"file {number}:\n{text}";
        Assert.True(parsed.Value is null == parsed.Diagnostics.Length > 0, because);
        Diagnostic? before = null;
        foreach (Diagnostic diagnostic in parsed.Diagnostics)
        {
            bool located = diagnostic.Span.Source is { } source && source.Name == "f.yaml" && diagnostic.Span.Start >= 0 && diagnostic.Span.Start <= diagnostic.Span.End
                && diagnostic.Span.End <= text.Length;
            Assert.True(located, $"{diagnostic.Code} {diagnostic.Message} is not located inside {because}");
            Assert.True(
                diagnostic.Message.Length > 0 && diagnostic.Expected.Length > 0 && diagnostic.Found.Length > 0 && diagnostic.Mend != "", $"{diagnostic.Code} says too little in {because}");
            Assert.True(Codes.All.ContainsKey(diagnostic.Code), diagnostic.Code);
            bool sorted = before is null || (before.Span.Start, before.Span.End).CompareTo((diagnostic.Span.Start, diagnostic.Span.End)) <= 0;
            Assert.True(sorted, $"not sorted in {because}");
            before = diagnostic;
        }
    }

    /// <summary>A text that isn't UTF-8 ends before the reader; its diagnostic is judged here, and nothing is left to read.</summary>
    private static string Located(DiagnosticSink sink)
    {
        Diagnostic diagnostic = Assert.Single(sink.ToSorted());
        Assert.Equal("not UTF-8", diagnostic.Code);
        Assert.InRange(diagnostic.Span.Start, 0, diagnostic.Span.Source!.Content.Length);
        return "";
    }

    /// <summary>Small whole files made of the larger sample's pieces: one section each beside what no file can do without.</summary>
    private static IEnumerable<string> Slices()
    {
        string head = Samples.Tiny[..Samples.Tiny.IndexOf("stages:", StringComparison.Ordinal)];
        string rest = Samples.Small[Samples.Small.IndexOf("stages:", StringComparison.Ordinal)..];
        string[] sections = ["stages:", "loop:", "calibration:", "adjustment:", "spread:", "memory:", "panel:"];
        int[] starts = [.. sections.Select(s => s == "stages:" ? 0 : rest.IndexOf("\n" + s, StringComparison.Ordinal) + 1), rest.Length];
        for (int i = 0; i < sections.Length; i++)
        {
            yield return head + rest[starts[i]..starts[i + 1]];
        }

        foreach (SensorKind kind in SensorKinds.All)
        {
            if (kind.Shape.Example is { } example)
            {
                yield return $"instrument: S\nspecification: {{ measurand: pressure, range: 0 .. 1 kPa }}\nsensor: {example.Replace("sensor: ", "", StringComparison.Ordinal)}\n";
            }
        }
    }
}
