using Throughline.Firmware;

namespace Throughline.Workbench.Tests;

/// <summary>A workbench that is being served from a copy of the demos.</summary>
public sealed class Served : IAsyncDisposable
{
    private readonly WorkbenchServer _server;

    private Served(DemoFolder folder, WorkbenchServer server)
    {
        Folder = folder;
        _server = server;
    }

    public DemoFolder Folder { get; }

    public Uri Address => _server.Address;

    public static async Task<Served> StartAsync()
    {
        DemoFolder folder = new();
        WorkbenchServer server = WorkbenchServer.Create(OptionsFor(folder));
        await server.StartAsync();
        return new Served(folder, server);
    }

    public static WorkbenchOptions OptionsFor(DemoFolder folder) => new()
    {
        Folder = folder.Path,
        FurtherChecks = FirmwareChecks.ByField,
        Template = [("instrument.yaml", File.ReadAllText(folder.PathOf("cold-store-pt100/instrument.yaml"))), ("parts.yaml", File.ReadAllText(folder.PathOf("cold-store-pt100/parts.yaml")))],
    };

    /// <summary>The address of a page of an instrument.</summary>
    public string Page(string section, string file, string further = "") => $"{Address}{section}?file={Uri.EscapeDataString(file)}{further}";

    public async ValueTask DisposeAsync()
    {
        using CancellationTokenSource soon = new(TimeSpan.FromSeconds(5));
        await _server.StopAsync(soon.Token);
        await _server.DisposeAsync();
        Folder.Dispose();
    }
}
