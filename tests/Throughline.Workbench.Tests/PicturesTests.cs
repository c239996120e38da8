using System.Buffers.Binary;
using Microsoft.Playwright;
using Throughline.Testing;
using Throughline.Workbench.Pages;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>
/// The pictures in <c>docs/pictures</c>: every page has one. <c>docs/pictures/make</c> takes them anew by running this with a folder in <c>THROUGHLINE_PICTURES</c>.
/// </summary>
[Collection(SharedBrowser.Name)]
public sealed class PicturesTests(BrowserFixture browser, ServedFixture served) : IClassFixture<ServedFixture>
{
    private const int Width = 1440;
    private const int Height = 900;
    private const string Nutrient = "nutrient-ph/instrument.yaml";

    /// <summary>A picture's name, the section, the instrument, light or dark.</summary>
    public static TheoryData<string, string, string, ColorScheme> Shots
    {
        get
        {
            TheoryData<string, string, string, ColorScheme> shots = new()
            {
                { "start", "", "", ColorScheme.Light },
                { "chain-not-met", "chain", "nutrient-ph/flawed/01-gain.yaml", ColorScheme.Light },
                { "chain-dark", "chain", Nutrient, ColorScheme.Dark },
                { "chain-two-wire", "chain", "loop-powered-level/instrument.yaml", ColorScheme.Light },
            };
            foreach ((string section, _) in Link.Sections)
            {
                shots.Add(section, section, Nutrient, ColorScheme.Light);
            }

            return shots;
        }
    }

    [Theory]
    [MemberData(nameof(Shots))]
    public async Task Page_HasAPicture(string name, string section, string file, ColorScheme colours)
    {
        string? into = Environment.GetEnvironmentVariable("THROUGHLINE_PICTURES");
        string path = Path.Combine(into ?? Repository.PathOf("docs/pictures"), name + ".png");
        if (into is not null)
        {
            await TakeAsync(path, section, file, colours);
        }

        // A PNG (ISO/IEC 15948): signature, then the header with width and height.
        byte[] picture = await File.ReadAllBytesAsync(path, TestContext.Current.CancellationToken);
        Assert.Equal([0x89, (byte)'P', (byte)'N', (byte)'G', 0x0D, 0x0A, 0x1A, 0x0A], picture[..8]);
        Assert.Equal((Width, Height), (BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(16)), BinaryPrimitives.ReadInt32BigEndian(picture.AsSpan(20))));
    }

    private async Task TakeAsync(string path, string section, string file, ColorScheme colours)
    {
        string address = section.Length == 0 ? served.Served.Address.ToString() : served.Served.Page(section, file);
        await using WatchedPage watched = await browser.OpenAsync(address, Width, Height, colours);
        IPage page = watched.Page;
        await page.GetByText("Being computed …").WaitForAsync(new() { State = WaitForSelectorState.Detached });
        if (section == "chain")
        {
            await page.Locator("#nomogram .band").WaitForAsync(new() { State = WaitForSelectorState.Attached });
        }
        else if (section == "accuracy")
        {
            await page.Locator("#run-batch").ClickAsync();
            await page.GetByText("10\u202f000 units", new() { Exact = true }).Or(page.GetByText("10000 units", new() { Exact = true })).WaitForAsync(new() { Timeout = 120_000 });
            await page.Locator("#batch").EvaluateAsync("e => e.scrollIntoView()");
        }
        else if (section == "revisions")
        {
            await page.Locator("#other").SelectOptionAsync("file:nutrient-ph/flawed/01-gain.yaml");
            await page.GetByRole(AriaRole.Rowheader, new() { Name = "stages / input / parts / R1 / resistor" }).WaitForAsync();
        }

        await page.ScreenshotAsync(new() { Path = path, Animations = ScreenshotAnimations.Disabled });
        Assert.Equal("", watched.Complaints);
    }
}
