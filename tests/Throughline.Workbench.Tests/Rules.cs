using Deque.AxeCore.Commons;
using Deque.AxeCore.Playwright;
using Microsoft.Playwright;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>axe-core's rules of WCAG 2.2 A and AA (W3C, 2023) on a page in light and in dark.</summary>
internal static class Rules
{
    private static readonly RunOnlyOptions All = new() { Type = "tag", Values = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] };

    /// <summary>What a change of colours can break. A page in dark is the same document.</summary>
    private static readonly RunOnlyOptions OfColours = new() { Type = "rule", Values = ["color-contrast", "link-in-text-block"] };

    /// <summary>Fails with every violation; the page is dark afterwards.</summary>
    public static async Task HoldAsync(IPage page)
    {
        await page.EmulateMediaAsync(new() { ColorScheme = ColorScheme.Light });
        await HoldAsync(page, All, "light");
        string ground = await GroundAsync(page);
        await page.EmulateMediaAsync(new() { ColorScheme = ColorScheme.Dark });
        Assert.NotEqual(ground, await GroundAsync(page));
        await HoldAsync(page, OfColours, "dark");
    }

    private static async Task HoldAsync(IPage page, RunOnlyOptions rules, string colours)
    {
        AxeResult result = await page.RunAxe(new AxeRunOptions { RunOnly = rules });
        Assert.Equal("", string.Join("\n", result.Violations.Select(v => $"{colours}: {v.Id}: {v.Help}: {string.Join(" | ", v.Nodes.Take(3).Select(n => n.Html))}")));
        Assert.NotEmpty(result.Passes);
    }

    private static Task<string> GroundAsync(IPage page) => page.EvaluateAsync<string>("() => getComputedStyle(document.body).backgroundColor");
}
