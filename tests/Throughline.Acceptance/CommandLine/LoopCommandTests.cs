using System.Globalization;
using System.Xml.Linq;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The loop's command on real instruments.</summary>
public sealed class LoopCommandTests
{
    private static Invocation Run(string demo, params string[] more) =>
        Invocation.OfWords(["loop", Repository.PathOf("demo", demo, "instrument.yaml"), .. more], Engine.Default);

    [Fact]
    public void Text_SaysScaleComplianceConditionsAndNoise()
    {
        Invocation invocation = Run("cold-store-pt100", "--current", "12");
        Assert.Equal((0, ""), (invocation.Code, invocation.Error));
        string text = Demo.Plain(invocation.Output);
        foreach (string words in new[] { "scale, in both directions", "read back", "must flow through up to", "greatest controlled current, mA: stated parts", "receiver short-circuited", "wires exchanged", "peak to peak" })
        {
            Assert.Contains(words, text, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Csv_HasEveryCell()
    {
        string[] lines = Run("cold-store-pt100", "--csv").Output.TrimEnd('\n').Split('\n');
        Assert.Equal(1 + (3 * 20 * 20), lines.Length);
        Assert.All(lines, line => Assert.Equal(6, line.Count(c => c == ',')));
        Assert.True(double.Parse(lines[1].Split(',')[4], CultureInfo.InvariantCulture) > 0.02);
    }

    [Fact]
    public void Picture_IsAWholeSvgThatNeedsNothingElse()
    {
        string path = Path.Combine(Directory.CreateTempSubdirectory("throughline-").FullName, "map.svg");
        try
        {
            Assert.Equal(0, Run("nutrient-ph", "--out", path).Code);
            XDocument picture = XDocument.Load(path);
            XNamespace svg = "http://www.w3.org/2000/svg";
            Assert.Equal(svg + "svg", picture.Root!.Name);
            Assert.DoesNotContain(picture.Descendants(), e => e.Name.LocalName is "script" or "image" or "style");
            Assert.DoesNotContain(picture.Descendants().Attributes(), a => a.Value.Contains("://", StringComparison.Ordinal) && !a.IsNamespaceDeclaration);
            string words = string.Join(' ', picture.Descendants(svg + "text").Select(t => t.Value));
            Assert.Contains("rated load and supply", words, StringComparison.Ordinal);
            Assert.Contains("L18, V", words, StringComparison.Ordinal);
            Assert.Contains("to spare", words, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(Path.GetDirectoryName(path)!, recursive: true);
        }
    }

    [Fact]
    public void Picture_ThatCannotBeWritten_IsSaid()
    {
        Invocation invocation = Run("nutrient-ph", "--out", Path.Combine(Path.GetTempPath(), "throughline-nowhere", "map.svg"));
        Assert.Equal(ExitCode.Unreadable, invocation.Code);
        Assert.Contains("cannot be written", invocation.Error, StringComparison.Ordinal);
    }
}
