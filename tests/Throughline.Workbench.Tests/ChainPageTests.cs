using System.Globalization;
using Microsoft.Playwright;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>The chain's page in a real browser.</summary>
[Collection(SharedBrowser.Name)]
public sealed class ChainPageTests(BrowserFixture browser) : IAsyncLifetime
{
    private Served _served = null!;

    public async ValueTask InitializeAsync() => _served = await Served.StartAsync();

    public ValueTask DisposeAsync() => _served.DisposeAsync();

    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    [InlineData("loop-powered-level")]
    public async Task Demo_Opened_ShowsALevelLineAndNothingNotMet(string demo)
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", demo + "/instrument.yaml"));
        double[] heights = await HeightsAsync(watched.Page);
        Assert.True(heights.Length >= 3);

        // A sound instrument is a level line: to within 1.5 % of the height of the axes, two pixels or so of rounding codes and of the display's step.
        Assert.InRange(heights.Max() - heights.Min(), 0, 8);
        Assert.Equal(0, await watched.Page.Locator(".finding.not-met").CountAsync());
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Hand_Dragged_TakesEveryScaleWithIt()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        LocatorBoundingBoxResult hand = (await page.Locator("#hand").BoundingBoxAsync())!;
        double before = await MeasurandAsync(page);
        await page.Mouse.MoveAsync(hand.X + (hand.Width / 2), hand.Y + (hand.Height / 2));
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(hand.X + (hand.Width / 2), hand.Y + (hand.Height / 2) - 100, new() { Steps = 10 });
        await page.Mouse.UpAsync();
        await page.WaitForFunctionAsync("before => Number(document.querySelector('#hand').getAttribute('aria-valuenow')) > before + 1", before);
        double[] heights = await HeightsAsync(page);
        Assert.InRange(heights.Max() - heights.Min(), 0, 8);
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Hand_ByArrowKeysAndByNumber_Moves()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        await page.Locator("#hand").FocusAsync();
        double before = await MeasurandAsync(page);
        await page.Keyboard.PressAsync("ArrowUp");
        await page.WaitForFunctionAsync("before => Number(document.querySelector('#hand').getAttribute('aria-valuenow')) > before", before);
        await page.Locator("#at").FillAsync("4.5");
        await page.Locator("#at").PressAsync("Enter");
        await page.WaitForFunctionAsync("() => Math.abs(Number(document.querySelector('#hand').getAttribute('aria-valuenow')) - 4.5) < 1e-9");
    }

    // R1 sets the amplifier's gain; with 47 kΩ the span trimmer can no longer reach its target.
    [Fact]
    public async Task Edit_OfAResistor_TurnsTheFindingAndBendsTheLine()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml", "&at=8.9"));
        IPage page = watched.Page;
        await ReplaceAsync(watched, "42.2 kΩ", "52.3 kΩ");
        await page.Locator(".finding.not-met[data-check='stage does what its intent says']").WaitForAsync();
        double[] heights = await HeightsAsync(page);

        // The drawing makes room for what moved, so the bend counts as a share of the axis.
        double axis = await page.Locator("#nomogram").EvaluateAsync<double>("s => s.dataset.bottom - s.dataset.top");
        Assert.True(heights.Max() - heights.Min() > 0.02 * axis, $"The line is still level: {string.Join(' ', heights)} on an axis of {axis}.");
        await page.Locator(".moved").GetByText("42.2 kΩ", new() { Exact = false }).First.WaitForAsync();

        // Undo is the editor's own, and everything follows it.
        await page.Locator(".cm-content").PressAsync("Control+z");
        await page.WaitForFunctionAsync("() => document.querySelectorAll('.finding.not-met').length === 0");
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Mistake_InTheText_IsNamedWithItsPlaceAndWhatFollowsStays()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        await ReplaceAsync(watched, "42.2 kΩ", "42.2 kV");
        await page.Locator(".diagnostic").First.WaitForAsync();
        Assert.Contains("resistance", await page.Locator(".diagnostic").First.TextContentAsync(), StringComparison.Ordinal);
        Assert.True(await page.Locator("#nomogram").IsVisibleAsync());
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task File_OpenedWithAMistake_IsInViewAtTheMistake()
    {
        string path = _served.Folder.PathOf("nutrient-ph/instrument.yaml");
        string text = await File.ReadAllTextAsync(path, TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(path, text + "\nnonsense: 1\n", TestContext.Current.CancellationToken);
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        await page.GetByText("Nothing can follow yet: the file has a mistake.").WaitForAsync();
        Assert.Contains("nonsense", await page.Locator(".diagnostic").TextContentAsync(), StringComparison.Ordinal);
        await page.WaitForFunctionAsync(
            """
            () => {
                const line = [...document.querySelectorAll(".cm-line")].find(l => l.textContent.startsWith("nonsense"))?.getBoundingClientRect();
                const view = document.querySelector(".cm-scroller").getBoundingClientRect();
                return line && line.top >= view.top && line.bottom <= view.bottom;
            }
            """);
        await page.Locator(".cm-lintRange-error").WaitForAsync();

        // The mistake taken away, everything follows.
        await ReplaceAsync(watched, "nonsense: 1", "");
        await page.Locator("#nomogram").WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Address_NamesWhatIsLaidBeside_AndRestoresIt()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml", "&beside=file:cold-store-pt100/instrument.yaml"));
        IPage page = watched.Page;
        ILocator legend = page.Locator(".nomogram").GetByText("cold-store-pt100/instrument.yaml");
        await legend.WaitForAsync();
        await page.WaitForFunctionAsync("() => new URL(location).searchParams.get('beside') === 'file:cold-store-pt100/instrument.yaml'");
        string kept = page.Url;
        await page.GetByRole(AriaRole.Link, new() { Name = "Supplies" }).First.ClickAsync();
        await page.WaitForFunctionAsync("() => location.pathname.endsWith('supplies') && location.search.includes('beside')");
        await using WatchedPage again = await browser.OpenAsync(kept);
        await again.Page.Locator(".nomogram").GetByText("cold-store-pt100/instrument.yaml").WaitForAsync();
        Assert.Equal("", watched.Complaints + again.Complaints);
    }

    [Fact]
    public async Task Save_ByKeyboard_WritesTheFile()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        await ReplaceAsync(watched, "revision: A", "revision: B");
        await watched.Page.Locator(".top-file").GetByText("revision B").WaitForAsync();
        await watched.Page.Locator(".cm-content").PressAsync("Control+s");
        await watched.Page.Locator(".top-file").GetByText("saved").WaitForAsync();
        Assert.Contains("revision: B", await File.ReadAllTextAsync(_served.Folder.PathOf("nutrient-ph/instrument.yaml"), TestContext.Current.CancellationToken), StringComparison.Ordinal);
    }

    [Fact]
    public async Task File_ChangedByAnotherProgram_IsReloadedOrAskedAbout()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        string path = _served.Folder.PathOf("nutrient-ph/instrument.yaml");
        string text = await File.ReadAllTextAsync(path, TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(path, text.Replace("revision: A", "revision: C", StringComparison.Ordinal), TestContext.Current.CancellationToken);
        await page.Locator(".top-file").GetByText("revision C").WaitForAsync();

        await ReplaceAsync(watched, "revision: C", "revision: D");
        await File.WriteAllTextAsync(path, text.Replace("revision: A", "revision: E", StringComparison.Ordinal), TestContext.Current.CancellationToken);
        await page.GetByRole(AriaRole.Button, new() { Name = "Keep mine" }).WaitForAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Lay the file's beside mine" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Take the file's" }).ClickAsync();
        await page.Locator(".top-file").GetByText("revision E").WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task TwoPages_OnOneFile_SeeTheSame()
    {
        await using WatchedPage one = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        await using WatchedPage two = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        await ReplaceAsync(one, "revision: A", "revision: F");
        await two.Page.Locator(".top-file").GetByText("revision F").WaitForAsync();
        await two.Page.Locator(".cm-content").GetByText("revision").First.WaitForAsync();

        // The first page breaks; what it had typed is with the server.
        await one.Page.CloseAsync();
        await using WatchedPage three = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        await three.Page.Locator(".top-file").GetByText("revision F").WaitForAsync();
    }

    [Fact]
    public async Task Link_WithAnOperatingPoint_RestoresTheView()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml", "&at=8&ambient=40&process=12"));
        Assert.Equal(8, await MeasurandAsync(watched.Page), 1e-9);
        Assert.Equal("40", await watched.Page.Locator("#ambient").InputValueAsync());
        Assert.Equal("12", await watched.Page.Locator("#process").InputValueAsync());
    }

    [Fact]
    public async Task Completion_InTheEditor_OffersTheKeysOfThePlace()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("chain", "nutrient-ph/instrument.yaml"));
        IPage page = watched.Page;
        await page.Locator(".cm-content").PressAsync("Control+End");
        await page.Keyboard.TypeAsync("\nco");
        await page.Locator(".cm-tooltip-autocomplete").GetByText("cost", new() { Exact = true }).WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    /// <summary>Heights of the line's points on the page.</summary>
    private static async Task<double[]> HeightsAsync(IPage page) =>
        [.. (await page.Locator(".nomogram .point circle").EvaluateAllAsync<string[]>("all => all.map(c => c.getAttribute('cy'))")).Select(t => double.Parse(t, CultureInfo.InvariantCulture))];

    private static async Task<double> MeasurandAsync(IPage page) =>
        double.Parse((await page.Locator("#hand").GetAttributeAsync("aria-valuenow"))!, CultureInfo.InvariantCulture);

    /// <summary>Finds a text in the editor by the editor's own search, and types another over it.</summary>
    private static async Task ReplaceAsync(WatchedPage watched, string old, string text)
    {
        IPage page = watched.Page;
        watched.IsTyping = true;
        await page.Locator(".cm-content").FocusAsync();
        await page.Keyboard.PressAsync("Control+f");
        await page.Locator(".cm-search [name=search]").FillAsync(old);

        // The editor takes the words over when a key is let go.
        await page.Keyboard.PressAsync("End");
        await page.Keyboard.PressAsync("Enter");
        await page.Locator(".cm-searchMatch-selected").WaitForAsync();
        await page.Keyboard.PressAsync("Escape");
        await page.Locator(".cm-search").WaitForAsync(new() { State = WaitForSelectorState.Detached });
        await page.Keyboard.InsertTextAsync(text);
    }
}
