using System.Net;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using Throughline.Analysis;
using Throughline.Workbench.Files;
using Throughline.Workbench.Pages;
using Throughline.Workbench.State;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>The review as one document.</summary>
[Collection(SharedBrowser.Name)]
public sealed partial class ReviewDocumentTests(BrowserFixture browser) : IDisposable
{
    private readonly DemoFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData("nutrient-ph/instrument.yaml")]
    [InlineData("nutrient-ph/flawed/01-gain.yaml")]
    [InlineData("cold-store-pt100/instrument.yaml")]
    [InlineData("hopper-bridge/instrument.yaml")]
    [InlineData("loop-powered-level/instrument.yaml")]
    public async Task Document_OfADemo_HoldsTheWholeReviewAndStandsAlone(string name)
    {
        using Workspace workspace = new(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        InstrumentSession session = workspace.Open(name)!;
        string page = (await ReviewDocument.WriteAsync(workspace, session, TestContext.Current.CancellationToken))!;
        string text = WebUtility.HtmlDecode(page);

        // All that was found is in it, and the whole text.
        foreach (Finding finding in session.State.Review!.Findings)
        {
            Assert.Contains(finding.Statement, text, StringComparison.Ordinal);
        }

        foreach (string line in session.State.Text.Split('\n'))
        {
            Assert.Contains(line.TrimEnd('\r') + "<", text + "<", StringComparison.Ordinal);
        }

        // Nothing is glued to what stands before it.
        Assert.DoesNotMatch("(resistor|op amp|between|plus|minus|out)</span><span>[^ ]", text);
        Assert.DoesNotContain("pH 6.50\u202fpH", text, StringComparison.Ordinal);

        // It loads nothing, runs nothing and has nothing to press; its own references lead somewhere, and only to one place.
        Assert.DoesNotMatch("<(script|button|input|select|form|link|iframe|img)[ >]", page);
        Assert.All(Reference().Matches(page).Select(m => m.Groups[1].Value), r => Assert.Matches("^(#|data:)", r));
        string[] ids = [.. Id().Matches(page).Select(m => m.Groups[1].Value)];
        Assert.Equal(ids.Distinct().Count(), ids.Length);
        Assert.All(Reference().Matches(page).Select(m => m.Groups[1].Value).Where(r => r[0] == '#'), r => Assert.Contains(r[1..], ids));
    }

    [Fact]
    public async Task Document_OfATextWithAMistake_IsOfTheLastOneWithoutAndSaysSo()
    {
        using Workspace workspace = new(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        InstrumentSession session = workspace.Open("cold-store-pt100/instrument.yaml")!;
        string before = (await ReviewDocument.WriteAsync(workspace, session, TestContext.Current.CancellationToken))!;
        session.Edit(session.State.Text + "\nnonsense: [", "me");
        string page = (await ReviewDocument.WriteAsync(workspace, session, TestContext.Current.CancellationToken))!;

        // But for that it is the same as before, when it is written again.
        Assert.Equal(before, page.Replace(Mistaken().Match(page).Value, "", StringComparison.Ordinal));
        Assert.Contains("has a mistake now", page, StringComparison.Ordinal);
        Assert.DoesNotContain("nonsense", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Document_OfAFileThatNeverWasAnInstrument_IsNone()
    {
        await File.WriteAllTextAsync(_folder.PathOf("broken.yaml"), "instrument: [", TestContext.Current.CancellationToken);
        using Workspace workspace = new(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        Assert.Null(await ReviewDocument.WriteAsync(workspace, workspace.Open("broken.yaml")!, TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task Document_OfHostileNames_RunsNoneOfThem()
    {
        const string Hostile = "<img src=x onerror=alert(1)></pre><script>alert(2)</script>";
        string file = _folder.PathOf("cold-store-pt100/instrument.yaml");
        string said = await File.ReadAllTextAsync(file, TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(file, $"# {Hostile}\n" + FirstLine().Replace(said, $"instrument: \"{Hostile}\"", 1), TestContext.Current.CancellationToken);
        using Workspace workspace = new(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        string page = (await ReviewDocument.WriteAsync(workspace, workspace.Open("cold-store-pt100/instrument.yaml")!, TestContext.Current.CancellationToken))!;
        Assert.DoesNotContain("<script", page, StringComparison.Ordinal);
        Assert.DoesNotContain("<img", page, StringComparison.Ordinal);
        Assert.Contains(WebUtility.HtmlEncode("<script>alert(2)"), page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Document_OpenedFromADisk_IsReadableAndPrints()
    {
        using Workspace workspace = new(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        string path = _folder.PathOf("review.html");
        await File.WriteAllTextAsync(path, await ReviewDocument.WriteAsync(workspace, workspace.Open("nutrient-ph/flawed/01-gain.yaml")!, TestContext.Current.CancellationToken), TestContext.Current.CancellationToken);
        await using IBrowserContext context = await browser.Browser.NewContextAsync(new() { ViewportSize = new() { Width = 1280, Height = 800 } });
        IPage page = await context.NewPageAsync();
        List<string> complaints = [];
        page.Console += (_, message) => complaints.Add(message.Text);
        page.Request += (_, request) =>
        {
            if (!request.Url.StartsWith("data:", StringComparison.Ordinal) && !request.Url.EndsWith("/review.html", StringComparison.Ordinal))
            {
                complaints.Add(request.Url);
            }
        };
        await page.GotoAsync(new Uri(path).AbsoluteUri);
        await Rules.HoldAsync(page);
        Assert.True(await page.EvaluateAsync<bool>("() => document.fonts.check('13px Inter') && [...document.fonts].some(f => f.status === 'loaded')"));
        Assert.False(await page.EvaluateAsync<bool>("() => document.documentElement.scrollWidth > innerWidth"));

        // On A4, 182 mm wide between the margins: nothing stands out to the right of the page.
        await page.EmulateMediaAsync(new() { Media = Media.Print });
        await page.SetViewportSizeAsync(688, 1000);
        string[] wide = await page.EvaluateAsync<string[]>("() => [...document.querySelectorAll('table, svg, pre, p, h1, h2, h3')].filter(e => e.getBoundingClientRect().right > 689).map(e => e.outerHTML.slice(0, 120))");
        Assert.Empty(wide);
        byte[] printed = await page.PdfAsync(new() { PreferCSSPageSize = true, PrintBackground = true });
        Assert.InRange(printed.Length, 50_000, 10_000_000);
        Assert.Empty(complaints);
    }

    [GeneratedRegex("(?:src|href|xlink:href)=\"([^\"]*)\"")]
    private static partial Regex Reference();

    [GeneratedRegex(" id=\"([^\"]*)\"")]
    private static partial Regex Id();

    [GeneratedRegex("""(\s*<p class="(not-met|marginal)">[^<]* The text [^<]*</p>)+""")]
    private static partial Regex Mistaken();

    [GeneratedRegex("^instrument: .*$", RegexOptions.Multiline)]
    private static partial Regex FirstLine();
}
