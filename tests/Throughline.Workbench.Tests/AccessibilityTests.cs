using Microsoft.Playwright;
using Throughline.Workbench.Pages;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Every page in light and dark, judged by axe-core's rules of WCAG 2.2 A and AA (W3C, 2023).</summary>
[Collection(SharedBrowser.Name)]
public sealed class AccessibilityTests(BrowserFixture browser, ServedFixture served) : IClassFixture<ServedFixture>
{
    public static TheoryData<string, string> Pages
    {
        get
        {
            TheoryData<string, string> pages = new() { { "", "" } };
            foreach ((string section, _) in Link.Sections)
            {
                pages.Add(section, "nutrient-ph/instrument.yaml");

                // Without panel, settings or adjustment: the pages that say so.
                pages.Add(section, "loop-powered-level/instrument.yaml");
            }

            pages.Add("chain", "nutrient-ph/flawed/01-gain.yaml");
            pages.Add("chain", "no-such.yaml");
            return pages;
        }
    }

    [Theory]
    [MemberData(nameof(Pages))]
    public async Task Page_InLightAndDark_HasNoViolation(string section, string file)
    {
        string address = section.Length == 0 ? served.Served.Address.ToString() : served.Served.Page(section, file);
        await using WatchedPage watched = await browser.OpenAsync(address);
        await watched.Page.GetByText("Being computed …").WaitForAsync(new() { State = WaitForSelectorState.Detached });
        await Rules.HoldAsync(watched.Page);
        Assert.Equal("", watched.Complaints);
    }
}
