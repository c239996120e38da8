using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using Throughline.Workbench.Pages;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Every page in light and dark, judged by axe-core's rules of WCAG 2.2 A and AA (W3C, 2023).</summary>
[Collection(SharedBrowser.Name)]
public sealed class AccessibilityTests(BrowserFixture browser, ServedFixture served) : IClassFixture<ServedFixture>
{

    public static TheoryData<string, string, ColorScheme> Pages
    {
        get
        {
            TheoryData<string, string, ColorScheme> pages = [];
            foreach (ColorScheme colours in new[] { ColorScheme.Light, ColorScheme.Dark })
            {
                pages.Add("", "", colours);
                foreach ((string section, _) in Link.Sections)
                {
                    pages.Add(section, "nutrient-ph/instrument.yaml", colours);
                    if (colours == ColorScheme.Light)
                    {
                        // Without panel, settings or adjustment: the pages that say so.
                        pages.Add(section, "loop-powered-level/instrument.yaml", colours);
                    }
                }

                pages.Add("chain", "nutrient-ph/flawed/01-gain.yaml", colours);
                pages.Add("chain", "no-such.yaml", colours);
            }

            return pages;
        }
    }

    [Theory]
    [MemberData(nameof(Pages))]
    public async Task Page_InLightAndDark_HasNoViolation(string section, string file, ColorScheme colours)
    {
        string address = section.Length == 0 ? served.Served.Address.ToString() : served.Served.Page(section, file);
        await using WatchedPage watched = await browser.OpenAsync(address, colours: colours);
        await watched.Page.GetByText("Being computed …").WaitForAsync(new() { State = WaitForSelectorState.Detached });
        AxeResult result = await watched.Page.RunAxe(new AxeRunOptions { RunOnly = new() { Type = "tag", Values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] } });
        Assert.Equal("", string.Join("\n", result.Violations.Select(v => $"{v.Id}: {v.Help}: {string.Join(" | ", v.Nodes.Take(3).Select(n => n.Html))}")));
        Assert.NotEmpty(result.Passes);
        Assert.Equal("", watched.Complaints);
    }
}
