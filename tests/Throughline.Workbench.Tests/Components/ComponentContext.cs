using Bunit;
using Microsoft.Extensions.DependencyInjection;
using Throughline.Workbench.Files;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Tests.Components;

/// <summary>Parts of pages alone, without a browser, on a copy of the demos.</summary>
public abstract class ComponentContext : BunitContext
{
    private readonly DemoFolder _folder = new();

    protected ComponentContext()
    {
        Workspace = new Workspace(new OpenedFolder(_folder.Path), Served.OptionsFor(_folder));
        Services.AddSingleton(Workspace);
        JSInterop.Mode = JSRuntimeMode.Loose;
    }

    internal Workspace Workspace { get; }

    /// <summary>A demo that is open and reviewed.</summary>
    internal async Task<InstrumentSession> ReviewedAsync(string name)
    {
        InstrumentSession session = Workspace.Open(name)!;
        await ReviewedAsync(session);
        return session;
    }

    /// <summary>Waits for the findings of its text.</summary>
    internal static async Task ReviewedAsync(InstrumentSession session)
    {
        using CancellationTokenSource late = new(TimeSpan.FromSeconds(60));
        while (!session.State.IsReviewed)
        {
            await Task.Delay(20, late.Token);
        }
    }

    protected override void Dispose(bool disposing)
    {
        base.Dispose(disposing);
        if (disposing)
        {
            _folder.Dispose();
        }
    }
}
