using System.Text;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Web;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.JSInterop;
using Throughline.Workbench.Server;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>
/// The review as one HTML document that stands alone: styles and fonts are inside it, nothing is loaded and nothing runs. The drawings and tables are those of the
/// pages, without what one presses there.
/// </summary>
internal static partial class ReviewDocument
{
    /// <summary>Style sheets of the pages that it shows, in their order.</summary>
    private static readonly string[] Styles = ["look.css", "pages.css", "adjustment.css", "sections.css", "accuracy.css", "panel.css", "printed.css"];

    private static readonly TimeSpan LongestForBand = TimeSpan.FromSeconds(3);

    /// <summary>Writes it as the session stands: its operating point, its unit in hand, its compared revision.</summary>
    /// <returns>Null when nothing follows from the file, because it has a mistake.</returns>
    public static async Task<string?> WriteAsync(Workspace workspace, InstrumentSession session, CancellationToken cancel = default)
    {
        SessionState state = await ReviewedAsync(session, cancel);
        if (state.Followed is null || state.Review is null)
        {
            return null;
        }

        ServiceCollection services = new();
        services.AddSingleton(workspace);
        services.AddSingleton<IJSRuntime, NoScripts>();
        string body;
        string title;
        await using (ServiceProvider provider = services.BuildServiceProvider())
        await using (HtmlRenderer renderer = new(provider, NullLoggerFactory.Instance))
        {
            body = await renderer.Dispatcher.InvokeAsync(async () =>
            {
                ParameterView parameters = ParameterView.FromDictionary(new Dictionary<string, object?> { [nameof(PrintedReview.Session)] = session, [nameof(PrintedReview.State)] = state });
                return (await renderer.RenderComponentAsync<PrintedReview>(parameters)).ToHtmlString();
            });
            title = System.Net.WebUtility.HtmlEncode(state.Followed.Instrument.Name.Value);
        }

        StringBuilder page = new();
        page.Append("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\" />\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n")
            .Append("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; font-src data:\" />\n")
            .Append("<meta name=\"color-scheme\" content=\"light dark\" />\n<title>").Append(title).Append(", review</title>\n<style>\n");
        foreach (string style in Styles)
        {
            page.Append(WithFontsInside(Encoding.UTF8.GetString(PageFiles.BytesOf(style)))).Append('\n');
        }

        return page.Append("</style>\n</head>\n<body>\n").Append(body).Append("\n</body>\n</html>\n").ToString();
    }

    /// <summary>Waits until the findings of the present text are there, and for a while for the batch about the line, which not every chain has.</summary>
    private static async Task<SessionState> ReviewedAsync(InstrumentSession session, CancellationToken cancel)
    {
        SemaphoreSlim changed = new(0);
        session.Changed += Told;
        try
        {
            while (session.State is { Diagnostics.IsEmpty: true, Followed: not null, Fault: null, IsReviewed: false })
            {
                await changed.WaitAsync(cancel);
            }

            while (session.State is { IsReviewed: true, Spread.IsEmpty: true } && await changed.WaitAsync(LongestForBand, cancel))
            {
                // Something else changed.
            }

            return session.State;
        }
        finally
        {
            session.Changed -= Told;
        }

        void Told() => changed.Release();
    }

    private static string WithFontsInside(string style) => FontAddress().Replace(
        style, m => $"url(\"data:font/{Path.GetExtension(m.Groups[1].Value)[1..]};base64,{Convert.ToBase64String(PageFiles.BytesOf(m.Groups[1].Value))}\")");

    [GeneratedRegex("""url\("((?:vendor/)?[\w-]+\.(?:woff2|ttf))"\)""")]
    private static partial Regex FontAddress();

    /// <summary>A document on paper has none.</summary>
    private sealed class NoScripts : IJSRuntime
    {
        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, object?[]? args) => throw new InvalidOperationException("A document runs no script.");

        public ValueTask<TValue> InvokeAsync<TValue>(string identifier, CancellationToken cancellationToken, object?[]? args) => InvokeAsync<TValue>(identifier, args);
    }
}
