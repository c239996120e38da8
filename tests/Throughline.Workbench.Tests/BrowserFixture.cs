using Microsoft.Playwright;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Debian's own browser, started once.</summary>
public sealed class BrowserFixture : IAsyncLifetime
{
    private IPlaywright? _playwright;

    public IBrowser Browser { get; private set; } = null!;

    public async ValueTask InitializeAsync()
    {
        string path = Environment.GetEnvironmentVariable("THROUGHLINE_CHROMIUM") ?? "/usr/bin/chromium";
        Assert.True(File.Exists(path), $"The tests of the pages need Chromium; there is no {path}. ./test installs it.");
        _playwright = await Playwright.CreateAsync();
        Browser = await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = path, Args = ["--no-sandbox", "--disable-gpu"] });
    }

    public async ValueTask DisposeAsync()
    {
        await Browser.DisposeAsync();
        _playwright?.Dispose();
    }

    /// <summary>A page that tells of everything that goes wrong on it.</summary>
    public async Task<WatchedPage> OpenAsync(string address, int width = 1440, int height = 900, ColorScheme colours = ColorScheme.Light)
    {
        IBrowserContext context = await Browser.NewContextAsync(new() { ViewportSize = new() { Width = width, Height = height }, ColorScheme = colours, ReducedMotion = ReducedMotion.Reduce });
        IPage page = await context.NewPageAsync();
        WatchedPage watched = new(context, page);
        await page.GotoAsync(address);
        await watched.ReadyAsync();
        return watched;
    }
}

/// <summary>The collection of tests that share the browser.</summary>
[CollectionDefinition(Name)]
public sealed class SharedBrowser : ICollectionFixture<BrowserFixture>
{
    public const string Name = "browser";
}

/// <summary>A page, and every complaint of the browser about it.</summary>
public sealed class WatchedPage : IAsyncDisposable
{
    private readonly IBrowserContext _context;
    private readonly List<string> _complaints = [];

    public WatchedPage(IBrowserContext context, IPage page)
    {
        _context = context;
        Page = page;
        page.Console += (_, message) =>
        {
            // Typing over selected text, Chromium itself tries to keep its style by an inline style, which the policy rightly forbids; the text comes out as it should.
            bool isChromiumsOwn = message.Text.StartsWith("Applying inline style", StringComparison.Ordinal) && IsTyping;
            if (message.Type is "error" or "warning" && !isChromiumsOwn)
            {
                Complain(message.Text);
            }
        };
        page.PageError += (_, error) => Complain(error);
        page.RequestFailed += (_, request) => Complain($"{request.Url} failed");
        page.Request += (_, request) =>
        {
            // Nothing is loaded from elsewhere.
            if (!request.Url.StartsWith("http://127.0.0.1:", StringComparison.Ordinal) && !request.Url.StartsWith("blob:", StringComparison.Ordinal) && !request.Url.StartsWith("data:", StringComparison.Ordinal))
            {
                Complain($"{request.Url} was asked for");
            }
        };
    }

    public IPage Page { get; }

    /// <summary>Whether text is being typed over other text.</summary>
    public bool IsTyping { get; set; }

    /// <summary>What the browser complained of: errors, failed loads, violations of the content security policy.</summary>
    public string Complaints
    {
        get
        {
            lock (_complaints)
            {
                return string.Join('\n', _complaints);
            }
        }
    }

    /// <summary>Waits until the page answers and, on an instrument's page, its findings are there.</summary>
    public async Task ReadyAsync()
    {
        await Page.Locator("#live[data-live='True']").WaitForAsync(new() { State = WaitForSelectorState.Attached });
        await Page.WaitForFunctionAsync("() => document.title.length > 0");
        if (await Page.Locator("#editor").CountAsync() > 0)
        {
            await Page.Locator(".cm-content").WaitForAsync();
            await ReviewedAsync();
        }
    }

    /// <summary>Waits until the findings are those of the text.</summary>
    public Task ReviewedAsync() => Page.Locator("#counts[data-old='false']").WaitForAsync(new() { Timeout = 60_000 });

    public async ValueTask DisposeAsync() => await _context.DisposeAsync();

    private void Complain(string text)
    {
        lock (_complaints)
        {
            _complaints.Add(text);
        }
    }
}
