using System.Xml.Linq;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>The supplies' command on real instruments.</summary>
public sealed class SuppliesCommandTests
{
    private static Invocation Run(string demo, params string[] more) =>
        Invocation.OfWords(["supplies", Repository.PathOf("demo", demo, "instrument.yaml"), .. more], Engine.Default);

    [Theory]
    [InlineData("nutrient-ph", "L18")]
    [InlineData("hopper-bridge", "N12")]
    [InlineData("cold-store-pt100", "BAT")]
    public void Text_SaysRailsPowerStartAndMissingRails(string demo, string rail)
    {
        Invocation invocation = Run(demo);
        Assert.Equal((0, ""), (invocation.Code, invocation.Error));
        string text = Demo.Plain(invocation.Output);
        foreach (string words in new[] { "rails: typical", rail, "draws as stated", "where the power goes", "heat in the supplies", "from power on to the first code", rail + " missing" })
        {
            Assert.Contains(words, text, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Picture_IsAWholeSvgWithEveryRail()
    {
        string path = Path.Combine(Directory.CreateTempSubdirectory("throughline-").FullName, "tree.svg");
        try
        {
            Assert.Equal(0, Run("hopper-bridge", "--out", path).Code);
            XDocument picture = XDocument.Load(path);
            XNamespace svg = "http://www.w3.org/2000/svg";
            Assert.Equal(svg + "svg", picture.Root!.Name);
            Assert.DoesNotContain(picture.Descendants(), e => e.Name.LocalName is "script" or "image" or "style");
            string[] words = [.. picture.Descendants(svg + "text").Select(t => t.Value)];
            foreach (string rail in new[] { "input", "P12", "N12", "A5", "L18", "L5" })
            {
                Assert.Contains(rail, words);
            }
        }
        finally
        {
            Directory.Delete(Path.GetDirectoryName(path)!, recursive: true);
        }
    }
}
