using System.Diagnostics;
using Microsoft.Playwright;
using Throughline.Workbench.Files;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>The pages of adjustment and revisions in a real browser.</summary>
[Collection(SharedBrowser.Name)]
public sealed class BenchPagesTests(BrowserFixture browser) : IAsyncLifetime
{
    private const string File = "nutrient-ph/instrument.yaml";
    private Served _served = null!;

    public async ValueTask InitializeAsync() => _served = await Served.StartAsync();

    public ValueTask DisposeAsync() => _served.DisposeAsync();

    [Fact]
    public async Task Trimmer_Turned_MovesTheMeterToItsTarget()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("adjustment", File));
        IPage page = watched.Page;
        string before = (await page.Locator(".meter-value").First.TextContentAsync())!;
        await page.GetByRole(AriaRole.Slider, new() { Name = "VR1" }).FocusAsync();
        await page.Keyboard.PressAsync("ArrowRight");
        await page.WaitForFunctionAsync("before => document.querySelector('.meter-value').textContent !== before", before);
        await page.GetByRole(AriaRole.Button, new() { Name = "Let a practised hand do it" }).ClickAsync();
        await page.GetByText("Every meter reads what the procedure asks for.").WaitForAsync();
        Assert.Equal(3, await page.Locator(".meter.reached").CountAsync());
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Unit_OfTheBatch_IsBuiltOfItsOwnParts()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("adjustment", File));
        string nominal = (await watched.Page.Locator(".meter-value").First.TextContentAsync())!;
        await watched.Page.Locator("#unit").FillAsync("17");
        await watched.Page.Locator("#unit").PressAsync("Enter");
        await watched.Page.WaitForFunctionAsync("before => document.querySelector('.meter-value').textContent !== before", nominal);
    }

    [Fact]
    public async Task Revision_OfAnotherFile_IsComparedAndDotted()
    {
        await using WatchedPage watched = await browser.OpenAsync(_served.Page("revisions", File));
        IPage page = watched.Page;
        await page.Locator("#other").SelectOptionAsync("file:nutrient-ph/flawed/01-gain.yaml");
        await page.GetByRole(AriaRole.Rowheader, new() { Name = "stages / input / parts / R1 / resistor" }).WaitForAsync();
        await page.GetByRole(AriaRole.Link, new() { Name = "Chain" }).ClickAsync();
        await page.Locator("#nomogram").WaitForAsync();
        string[] lines = await page.Locator("#nomogram path").EvaluateAllAsync<string[]>("all => all.filter(p => p.matches('.line, .other')).map(p => p.getAttribute('d'))");
        Assert.Equal(2, lines.Length);
        Assert.NotEqual(lines[0], lines[1]);
        Assert.Equal("", watched.Complaints);
    }

    [Fact]
    public async Task Revision_KeptByGit_IsOffered()
    {
        Git("init", "-q");
        Git("add", ".");
        Git("-c", "user.name=test", "-c", "user.email=test@example.org", "commit", "-q", "-m", "First <b>revision</b>");
        string path = _served.Folder.PathOf(File);
        string text = await System.IO.File.ReadAllTextAsync(path, TestContext.Current.CancellationToken);
        await System.IO.File.WriteAllTextAsync(path, text.Replace("42.2 kΩ", "43.2 kΩ", StringComparison.Ordinal), TestContext.Current.CancellationToken);

        KeptRevision kept = Assert.Single(await GitHistory.OfAsync(path, TestContext.Current.CancellationToken));
        Assert.Equal("First <b>revision</b>", kept.Subject);
        Assert.Equal(text, await GitHistory.TextAsync(path, kept.Id, TestContext.Current.CancellationToken));
        Assert.Null(await GitHistory.TextAsync(path, "HEAD:../x", TestContext.Current.CancellationToken));

        await using WatchedPage watched = await browser.OpenAsync(_served.Page("revisions", File));
        await watched.Page.Locator("#other optgroup[label='Kept by git']").WaitForAsync(new() { State = WaitForSelectorState.Attached });
        await watched.Page.Locator("#other").SelectOptionAsync("git:" + kept.Id);
        await watched.Page.GetByRole(AriaRole.Cell, new() { Name = "43.2 kΩ" }).First.WaitForAsync();
        Assert.Equal("", watched.Complaints);
    }

    private void Git(params string[] words)
    {
        ProcessStartInfo start = new("git") { WorkingDirectory = _served.Folder.Path, RedirectStandardError = true, RedirectStandardOutput = true };
        foreach (string word in words)
        {
            start.ArgumentList.Add(word);
        }

        using Process process = Process.Start(start)!;
        process.WaitForExit();
        Assert.Equal(0, process.ExitCode);
    }
}
