using System.Net;
using System.Net.WebSockets;
using Xunit;

namespace Throughline.Workbench.Tests;

/// <summary>Who may speak to the workbench, and what it gives them.</summary>
public sealed class ServerSafetyTests : IAsyncLifetime
{
    private readonly HttpClient _client = new(new SocketsHttpHandler { AllowAutoRedirect = false });
    private Served _served = null!;

    public async ValueTask InitializeAsync() => _served = await Served.StartAsync();

    public async ValueTask DisposeAsync()
    {
        _client.Dispose();
        await _served.DisposeAsync();
    }

    // A name that leads to this machine by a foreign name server is still a foreign name.
    [Theory]
    [InlineData("workbench.example")]
    [InlineData("127.0.0.1.example")]
    [InlineData("localhost.example")]
    [InlineData("127.0.0.1:1")]
    [InlineData("localhost")]
    [InlineData("0.0.0.0")]
    [InlineData("[::2]")]
    public async Task Request_WithAForeignHost_IsRefused(string host)
    {
        using HttpRequestMessage request = new(HttpMethod.Get, _served.Address) { Headers = { Host = host } };
        using HttpResponseMessage response = await _client.SendAsync(request, TestContext.Current.CancellationToken);
        Assert.Equal(HttpStatusCode.Forbidden, response.StatusCode);
    }

    [Theory]
    [InlineData("http://workbench.example")]
    [InlineData("https://127.0.0.1")]
    [InlineData("http://127.0.0.1:1")]
    [InlineData("null")]
    [InlineData("file://")]
    public async Task Request_WithAForeignOrigin_IsRefused(string origin)
    {
        foreach (string path in new[] { "", "_blazor/negotiate?negotiateVersion=1", "chain?file=nutrient-ph%2Finstrument.yaml" })
        {
            using HttpRequestMessage request = new(path.StartsWith('_') ? HttpMethod.Post : HttpMethod.Get, new Uri(_served.Address, path));
            request.Headers.TryAddWithoutValidation("Origin", origin);
            using HttpResponseMessage response = await _client.SendAsync(request, TestContext.Current.CancellationToken);
            Assert.Equal(HttpStatusCode.Forbidden, response.StatusCode);
        }
    }

    [Fact]
    public async Task Socket_FromAForeignPage_IsRefused()
    {
        using ClientWebSocket socket = new();
        socket.Options.SetRequestHeader("Origin", "http://workbench.example");
        Uri address = new($"ws://127.0.0.1:{_served.Address.Port}/_blazor");
        await Assert.ThrowsAsync<WebSocketException>(() => socket.ConnectAsync(address, TestContext.Current.CancellationToken));
    }

    [Theory]
    [InlineData("cross-site", "no-cors", "script", HttpStatusCode.Forbidden)]
    [InlineData("same-site", "cors", "empty", HttpStatusCode.Forbidden)]
    [InlineData("cross-site", "navigate", "iframe", HttpStatusCode.Forbidden)]
    [InlineData("cross-site", "navigate", "document", HttpStatusCode.OK)]
    [InlineData("same-origin", "cors", "empty", HttpStatusCode.OK)]
    public async Task Request_ThatABrowserSaysIsFromElsewhere_IsLetInAsALinkOnly(string site, string mode, string destination, HttpStatusCode expected)
    {
        using HttpRequestMessage request = new(HttpMethod.Get, _served.Address);
        request.Headers.Add("Sec-Fetch-Site", site);
        request.Headers.Add("Sec-Fetch-Mode", mode);
        request.Headers.Add("Sec-Fetch-Dest", destination);
        using HttpResponseMessage response = await _client.SendAsync(request, TestContext.Current.CancellationToken);
        Assert.Equal(expected, response.StatusCode);
    }

    [Theory]
    [InlineData("../secret.yaml")]
    [InlineData("..%2fsecret.yaml")]
    [InlineData("nutrient-ph/../../secret.yaml")]
    [InlineData("nutrient-ph/%2e%2e/%2e%2e/secret.yaml")]
    [InlineData("nutrient-ph\\..\\..\\secret.yaml")]
    [InlineData("link.yaml")]
    [InlineData("linked/secret.yaml")]
    [InlineData("nutrient-ph")]
    [InlineData("no/such.yaml")]
    [InlineData("")]
    public async Task File_OutsideTheFolder_IsNeverShown(string name)
    {
        await File.WriteAllTextAsync(Path.Combine(_served.Folder.Outer, "secret.yaml"), "instrument: a secret\n", TestContext.Current.CancellationToken);
        File.CreateSymbolicLink(_served.Folder.PathOf("link.yaml"), Path.Combine(_served.Folder.Outer, "secret.yaml"));
        File.CreateSymbolicLink(_served.Folder.PathOf("linked"), _served.Folder.Outer);
        foreach (string written in new[] { name, Uri.EscapeDataString(name) })
        {
            string page = await _client.GetStringAsync(new Uri(_served.Address, "chain?file=" + written), TestContext.Current.CancellationToken);
            Assert.DoesNotContain("a secret", page, StringComparison.Ordinal);
        }

        string start = await _client.GetStringAsync(_served.Address, TestContext.Current.CancellationToken);
        Assert.DoesNotContain("secret.yaml", start, StringComparison.Ordinal);
        Assert.DoesNotContain("=link.yaml", start, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Pages_ForbidWhatIsNotTheirOwn()
    {
        using HttpResponseMessage response = await _client.GetAsync(_served.Address, TestContext.Current.CancellationToken);
        string policy = string.Join(' ', response.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", string.Join(' ', response.Headers.GetValues("X-Content-Type-Options")));
        Assert.False(response.Headers.Contains("Server"));
    }

    [Fact]
    public async Task Folder_WithAFileThatIsTooLarge_DoesNotOpenIt()
    {
        await File.WriteAllTextAsync(_served.Folder.PathOf("large.yaml"), "instrument: large\n#" + new string('x', 1 << 20), TestContext.Current.CancellationToken);
        string page = await _client.GetStringAsync(new Uri(_served.Address, "chain?file=large.yaml"), TestContext.Current.CancellationToken);
        Assert.Contains("This instrument can", page, StringComparison.Ordinal);
    }

    // What a file says, and what it is called, is text on the page and never markup.
    [Fact]
    public async Task Text_OfAFile_IsEncoded()
    {
        const string hostile = "<img src=x onerror=alert(1)>";
        string folder = _served.Folder.PathOf("<b>bold");
        Directory.CreateDirectory(folder);
        string text = await File.ReadAllTextAsync(_served.Folder.PathOf("nutrient-ph/instrument.yaml"), TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(
            Path.Combine(folder, "instrument.yaml"),
            text.Replace("instrument: Nutrient-line pH transmitter", $"instrument: '{hostile}'", StringComparison.Ordinal).Replace("- input:", "- '<i>input</i>':", StringComparison.Ordinal),
            TestContext.Current.CancellationToken);
        foreach (string path in new[] { "", "chain?file=" + Uri.EscapeDataString("<b>bold/instrument.yaml") })
        {
            string page = await _client.GetStringAsync(new Uri(_served.Address, path), TestContext.Current.CancellationToken);
            Assert.DoesNotContain("<b>bold", page, StringComparison.Ordinal);
            Assert.DoesNotContain("<img src=x", page, StringComparison.Ordinal);
            Assert.DoesNotContain("<i>input", page, StringComparison.Ordinal);
        }
    }
}
