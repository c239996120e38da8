using System.Xml.Linq;
using Throughline.Firmware.Tests.Arithmetic;
using Xunit;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>The map of the settings memory, as rows and as a picture.</summary>
public sealed class SettingsMapTests
{
    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    public void Map_CoversEveryByteOnce_AndThePictureShowsEveryRegion(string demo)
    {
        SettingsLayout layout = SettingsLayout.Of(Sketches.Demo(demo))!;
        SettingsRegion[] regions = [.. SettingsMap.Of(layout)];
        Assert.Equal(Enumerable.Range(0, layout.End), regions.SelectMany(r => Enumerable.Range(r.Address, r.Bytes)));

        XElement picture = XElement.Parse(SettingsPicture.Write(layout));
        XNamespace svg = "http://www.w3.org/2000/svg";
        string[] titles = [.. picture.Descendants(svg + "g").Select(g => g.Element(svg + "title")!.Value).Distinct()];
        Assert.Equal(regions.Length, titles.Length);
        Assert.All(regions, r => Assert.Contains(titles, t => t.Contains($"address {r.Address},", StringComparison.Ordinal) && t.Contains(r.What, StringComparison.Ordinal)));

        // Self-contained: nothing that a viewer would load.
        Assert.DoesNotContain(picture.DescendantsAndSelf().Attributes(), a => a.Name.LocalName is "href" or "src" or "style");
    }
}
