using System.Net;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Throughline.Workbench.Files;
using Throughline.Workbench.Pages;
using Throughline.Workbench.Server;
using Throughline.Workbench.State;

namespace Throughline.Workbench;

/// <summary>The workbench as a server for this machine's own browser.</summary>
public sealed class WorkbenchServer : IAsyncDisposable
{
    /// <summary>Bytes. An instrument file has at most 1 MiB, and comes in one message with what is written about it.</summary>
    private const int MostMessage = 3 << 20;

    private readonly WebApplication _application;

    private WorkbenchServer(WebApplication application) => _application = application;

    /// <summary>Sets it up; nothing is served before <see cref="StartAsync"/>.</summary>
    /// <exception cref="DirectoryNotFoundException">There is no such folder.</exception>
    public static WorkbenchServer Create(WorkbenchOptions options)
    {
        WebApplicationBuilder builder = WebApplication.CreateSlimBuilder(new WebApplicationOptions { ApplicationName = "Throughline.Workbench", EnvironmentName = "Production", Args = [] });
        builder.Configuration.Sources.Clear();
        builder.Logging.ClearProviders();
        builder.WebHost.UseKestrelCore();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = MostMessage;
            kestrel.Limits.MaxConcurrentConnections = 200;
            kestrel.Limits.MaxRequestHeadersTotalSize = 32 << 10;
            kestrel.Listen(IPAddress.Loopback, options.Port, listen => listen.Protocols = HttpProtocols.Http1);
        });
        builder.Services.AddSingleton(options);
        builder.Services.AddSingleton(new OpenedFolder(options.Folder));
        builder.Services.AddSingleton<Workspace>();
        builder.Services.AddScoped<CircuitHandler, Attention>();
        builder.Services.AddDataProtection().UseEphemeralDataProtectionProvider();
        builder.Services.AddRazorComponents().AddInteractiveServerComponents().AddHubOptions(hub =>
        {
            hub.MaximumReceiveMessageSize = MostMessage;
            hub.MaximumParallelInvocationsPerClient = 2;
        });
        WebApplication application = builder.Build();
        application.Use((HttpContext context, RequestDelegate next) => LoopbackGuard.InvokeAsync(context, next));
        application.Use((HttpContext context, RequestDelegate next) => PageSecurity.InvokeAsync(context, next));
        application.Use((HttpContext context, RequestDelegate next) => Attention.InvokeAsync(context, next));
        application.UseAntiforgery();
        PageFiles.Map(application);
        Downloads.Map(application);
        application.MapRazorComponents<App>().AddInteractiveServerRenderMode(o => o.ContentSecurityFrameAncestorsPolicy = null);
        return new WorkbenchServer(application);
    }

    /// <summary>Serves until stopped.</summary>
    /// <exception cref="IOException">The port is taken.</exception>
    public Task StartAsync(CancellationToken cancel = default) => _application.StartAsync(cancel);

    /// <summary>Where the page is, once started.</summary>
    public Uri Address =>
        new(_application.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!.Addresses.First());

    public Task StopAsync(CancellationToken cancel = default) => _application.StopAsync(cancel);

    public ValueTask DisposeAsync() => _application.DisposeAsync();
}
