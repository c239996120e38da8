using System.IO.Compression;
using Microsoft.Playwright;
using Throughline.Firmware;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Accuracy, firmware, panel and supplies in a real browser.</summary>
[Collection(SharedBrowser.Name)]
public sealed class SectionPagesTests(BrowserFixture browser, ServedFixture served) : IClassFixture<ServedFixture>
{
    private const string Nutrient = "nutrient-ph/instrument.yaml";

    [Fact]
    public async Task Batch_Run_GrowsItsHistogramsAndOpensAnOutlierEverywhere()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("accuracy", Nutrient));
        IPage page = watched.Page;
        await page.Locator("#units").FillAsync("2000");
        await page.Locator("#run-batch").ClickAsync();
        await page.Locator("#histogram-0 svg").WaitForAsync();
        await page.GetByText("2000 units", new() { Exact = true }).WaitForAsync(new() { Timeout = 60_000 });
        await page.Locator("#worst-table button").First.ClickAsync();
        await page.Locator("#unit-table").WaitForAsync();
        await page.GetByText("In hand: unit").WaitForAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Chain" }).ClickAsync();
        await page.Locator("#nomogram").WaitForAsync();
        Assert.True(await page.GetByText("In hand: unit").IsVisibleAsync());
        await page.GetByRole(AriaRole.Button, new() { Name = "back to the nominal unit" }).ClickAsync();
        await page.GetByText("In hand: unit").WaitForAsync(new() { State = WaitForSelectorState.Detached });
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Value_TypedOverInATable_ChangesThatPlaceOfTheFile()
    {
        // A file of its own: the text that the other tests look at stays.
        const string Cold = "cold-store-pt100/instrument.yaml";
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("circuits", Cold));
        IPage page = watched.Page;
        ILocator value = page.Locator("#parts-table .file-value").First;
        string before = await value.InputValueAsync();
        string name = (await value.GetAttributeAsync("aria-label"))!;
        await value.FillAsync("2.48 V ±1 %");
        await value.PressAsync("Tab");
        await page.Locator(".cm-content").GetByText("2.48 V ±1 %").First.WaitForAsync();
        Assert.Equal("2.48 V ±1 %", await page.Locator($"[aria-label='{name}']").InputValueAsync());

        // One undo of the editor takes it back, comments and all.
        await page.Locator(".cm-content").PressAsync("Control+z");
        await page.WaitForFunctionAsync("([name, before]) => document.querySelector(`[aria-label='${name}']`)?.value === before", new[] { name, before });
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Part_PressedInTheDrawing_IsAtHandInTheTable()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("circuits", Nutrient, "&stage=output"));
        IPage page = watched.Page;
        ILocator part = page.Locator(".drawn [data-part='R8'], .drawn [data-part='Q1']").First;
        string name = (await part.GetAttributeAsync("data-part"))!;
        await part.Locator("rect").First.ClickAsync();
        Assert.Equal(name, await page.EvaluateAsync<string>("() => document.activeElement.closest('tr')?.dataset.part"));
        Assert.Contains("chosen", await part.GetAttributeAsync("class") ?? "", StringComparison.Ordinal);

        // And the other way round.
        await page.Locator("tr[data-part='U3'] input").First.FocusAsync();
        await page.Locator(".drawn [data-part='U3'].chosen").WaitForAsync(new() { State = WaitForSelectorState.Attached });
        Assert.Equal(1, await page.Locator(".drawn .chosen").CountAsync());
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Finding_Opened_LeadsToItsPicture()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("chain", "nutrient-ph/flawed/01-gain.yaml"));
        IPage page = watched.Page;
        await page.Locator("[data-check='stage does what its intent says'] .finding-head").First.ClickAsync();
        await page.GetByText("seen in circuits").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "input", Exact = true, Pressed = true }).WaitForAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Findings" }).ClickAsync();
        await page.Locator("input[type=search]").FillAsync("noise at the display");
        await page.Locator("[data-check='noise at the display'] .finding-head").ClickAsync();
        await page.GetByText("seen in circuits").Last.ClickAsync();
        await page.WaitForFunctionAsync("() => { const b = document.querySelector('#noise')?.getBoundingClientRect(); return b && b.top >= 0 && b.bottom <= innerHeight; }");
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Exports_OfPictureAndTable_AreWholeFiles()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("supplies", Nutrient));
        IPage page = watched.Page;
        await page.Locator("#supply-tree svg").WaitForAsync();
        string svg = await KeptAsync(page, "#supply-tree [data-export=svg]");
        Assert.StartsWith("<svg", svg, StringComparison.Ordinal);
        Assert.DoesNotContain("var(", svg, StringComparison.Ordinal);
        Assert.StartsWith("\u0089PNG", await KeptAsync(page, "#supply-tree [data-export=png]"), StringComparison.Ordinal);
        string csv = await KeptAsync(page, "[data-of=rails-table] [data-export=csv]");
        Assert.Contains("rail,kind", csv, StringComparison.Ordinal);
        Assert.Contains("\nL18,", csv, StringComparison.Ordinal);
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Firmware_Downloaded_IsTheCodeThatIsShown()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("firmware", Nutrient));
        IPage page = watched.Page;
        await page.Locator("#code-text").WaitForAsync();
        FirmwareCode code = FirmwareCode.Of(InstrumentReader.ReadText(Nutrient, await File.ReadAllTextAsync(served.Served.Folder.PathOf(Nutrient), TestContext.Current.CancellationToken), served.Served.Folder.PathOf("nutrient-ph")).Value!);
        Assert.Equal(code.Files[0].Text, await page.Locator("#code-text").TextContentAsync());
        await page.Locator("#code-file").SelectOptionAsync(code.Files[1].Name);
        await page.WaitForFunctionAsync("text => document.querySelector('#code-text').textContent === text", code.Files[1].Text);
        Assert.Equal(code.Files[1].Text, System.Text.Encoding.UTF8.GetString(System.Text.Encoding.Latin1.GetBytes(await KeptAsync(page, "#keep-file"))));
        await page.Locator("#run-code").FillAsync("1000");
        await page.Locator("#run-code").PressAsync("Tab");
        await page.GetByText("at code 1000").WaitForAsync();
        using HttpClient client = new();
        await using Stream stream = await client.GetStreamAsync(new Uri(served.Served.Address, "download/firmware?file=" + Uri.EscapeDataString(Nutrient)), TestContext.Current.CancellationToken);
        using ZipArchive archive = new(stream);
        Assert.Equal(code.Files.Select(f => f.Name), archive.Entries.Select(e => e.FullName));
        using StreamReader reader = new(archive.GetEntry(code.Files[^1].Name)!.Open());
        Assert.Equal(code.Files[^1].Text, await reader.ReadToEndAsync(TestContext.Current.CancellationToken));
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Calibration_OnThePanel_SucceedsIsRefusedAndIsAbandoned()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("panel", Nutrient));
        IPage page = watched.Page;
        await page.Locator("#display").WaitForAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Pause" }).ClickAsync();

        await CalibrateAsync(page);
        await ShownAsync(page, "Kept");
        await KeyAsync(page, "OK");

        await page.GetByRole(AriaRole.Button, new() { Name = "One to be refused" }).ClickAsync();
        await CalibrateAsync(page);
        await ShownAsync(page, "Not kept");
        await KeyAsync(page, "OK");
        await page.GetByRole(AriaRole.Button, new() { Name = "A good sensor" }).ClickAsync();

        await KeyAsync(page, "MENU");
        await KeyAsync(page, "CAL");
        await ShownAsync(page, "Rinse");
        await KeyAsync(page, "STOP");
        await ShownAsync(page, "MENU");

        // Into the menu and out of it by the keyboard alone; the screen that is shown is marked among all.
        await page.Keyboard.PressAsync("1");
        await page.Locator(".screen-card[aria-current=true] h4", new() { HasText = "menu" }).WaitForAsync();
        await page.Keyboard.PressAsync("1");
        await page.Locator(".screen-card[aria-current=true] h4", new() { HasText = "measuring" }).WaitForAsync();

        // An open wire of this electrode reads as a value for a while; in words the reading is made one that nobody believes.
        await page.GetByRole(AriaRole.Textbox, new() { Name = "A step in words" }).Or(page.GetByRole(AriaRole.Combobox, new() { Name = "A step in words" })).FillAsync("sensor broken");
        await page.GetByRole(AriaRole.Button, new() { Name = "Do it" }).ClickAsync();
        await page.Locator("#failures", new() { HasText = "sensor broken" }).WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Power_FailingWhileACalibrationIsKept_LeavesOldOrNew()
    {
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("panel", Nutrient));
        IPage page = watched.Page;
        await page.Locator("#display").WaitForAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Pause" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "A new unit" }).ClickAsync();
        await page.Locator("#kept", new() { HasTextRegex = new("^zero 0\\sV · gain 1\\.00000$") }).WaitForAsync();
        string before = (await page.Locator("#kept").TextContentAsync())!;

        await page.Locator("#fail-write").FillAsync("3");
        await page.Locator("#fail-write").PressAsync("Tab");
        await page.Locator("#fail-at").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "A good sensor" }).ClickAsync();
        await CalibrateAsync(page);
        await page.Locator("#display[aria-label='Display without power']").WaitForAsync();
        await page.Locator(".log", new() { HasText = "power failed at write 3" }).WaitForAsync();

        // The first copy was torn in its first bytes: the second one still holds what was before.
        await page.Locator("#power").ClickAsync();
        await ShownAsync(page, "MENU");
        Assert.Equal(before, await page.Locator("#kept").TextContentAsync());
        Assert.Equal(0, await page.Locator("#failures").CountAsync());
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Panel_OfAnEditedFile_BeginsAnewWithANotice()
    {
        const string Hopper = "hopper-bridge/instrument.yaml";
        await using WatchedPage watched = await browser.OpenAsync(served.Served.Page("panel", Hopper));
        IPage page = watched.Page;
        await page.Locator("#display").WaitForAsync();
        await page.Locator(".cm-content").ClickAsync();
        await page.Keyboard.PressAsync("Control+Home");
        await page.Keyboard.TypeAsync("# another line\n");
        await page.GetByText("The file has changed: the panel began anew").WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    private static async Task CalibrateAsync(IPage page)
    {
        await KeyAsync(page, "MENU");
        await KeyAsync(page, "CAL");
        await page.GetByRole(AriaRole.Button, new() { Name = "into 7.00 pH" }).ClickAsync();
        await PassAsync(page);
        await KeyAsync(page, "SET");
        await page.GetByRole(AriaRole.Button, new() { Name = "into 4.01 pH" }).ClickAsync();
        await PassAsync(page);
        await KeyAsync(page, "SET");
    }

    /// <summary>Lets a minute pass, in which a reading becomes steady.</summary>
    private static async Task PassAsync(IPage page)
    {
        for (int i = 0; i < 2; i++)
        {
            await page.GetByRole(AriaRole.Button, new() { Name = "30 s on" }).ClickAsync();
        }
    }

    private static Task KeyAsync(IPage page, string label) => page.Locator($".key[aria-label$=': {label}']").ClickAsync();

    private static Task ShownAsync(IPage page, string text) => page.Locator($"#display[aria-label*='{text}']").WaitForAsync();

    /// <summary>What a button lets the browser keep, one character for each byte.</summary>
    private static async Task<string> KeptAsync(IPage page, string button)
    {
        IDownload download = await page.RunAndWaitForDownloadAsync(() => page.Locator(button).ClickAsync());
        return System.Text.Encoding.Latin1.GetString(await File.ReadAllBytesAsync((await download.PathAsync())!, TestContext.Current.CancellationToken));
    }
}
