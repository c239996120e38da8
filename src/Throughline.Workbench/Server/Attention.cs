using Microsoft.AspNetCore.Components.Server.Circuits;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Server;

/// <summary>Tells the workspace of all that a person does: requests of pages, and what a page sends while it is open.</summary>
internal sealed class Attention(Workspace workspace) : CircuitHandler
{
    public static Task InvokeAsync(HttpContext context, RequestDelegate next)
    {
        context.RequestServices.GetRequiredService<Workspace>().GiveWay();
        return next(context);
    }

    public override Func<CircuitInboundActivityContext, Task> CreateInboundActivityHandler(Func<CircuitInboundActivityContext, Task> next) => context =>
    {
        workspace.GiveWay();
        return next(context);
    };
}
