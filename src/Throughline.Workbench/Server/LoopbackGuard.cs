using System.Net;
using Microsoft.AspNetCore.Http;

namespace Throughline.Workbench.Server;

/// <summary>
/// Lets in who sits at this machine and opened the page by its own address. A page from elsewhere in the same browser is refused by its origin, and a foreign name
/// that leads to this machine by its host.
/// </summary>
internal static class LoopbackGuard
{
    /// <summary>Names of this machine in an address.</summary>
    private static readonly string[] Names = ["127.0.0.1", "localhost", "[::1]"];

    public static async Task InvokeAsync(HttpContext context, RequestDelegate next)
    {
        if (context.Connection.RemoteIpAddress is { } from && !IPAddress.IsLoopback(from))
        {
            await RefuseAsync(context, "Only this machine may open the workbench.");
            return;
        }

        if (!IsOwn(context.Request.Host, context.Connection.LocalPort))
        {
            await RefuseAsync(context, "The workbench answers to 127.0.0.1 and localhost only.");
            return;
        }

        foreach (string? origin in context.Request.Headers.Origin)
        {
            if (!IsOwnOrigin(origin, context.Connection.LocalPort))
            {
                await RefuseAsync(context, "Another page may not use the workbench.");
                return;
            }
        }

        // A link may lead here from anywhere; what is loaded or sent by another page may not.
        string site = context.Request.Headers["Sec-Fetch-Site"].ToString();
        bool isNavigation = HttpMethods.IsGet(context.Request.Method) && context.Request.Headers["Sec-Fetch-Mode"] == "navigate" && context.Request.Headers["Sec-Fetch-Dest"] == "document";
        if (site is "cross-site" or "same-site" && !isNavigation)
        {
            await RefuseAsync(context, "Another page may not use the workbench.");
            return;
        }

        await next(context);
    }

    private static bool IsOwn(HostString host, int port) => Names.Contains(host.Host, StringComparer.OrdinalIgnoreCase) && (host.Port ?? 80) == port;

    private static bool IsOwnOrigin(string? origin, int port) =>
        Uri.TryCreate(origin, UriKind.Absolute, out Uri? uri) && uri.Scheme == Uri.UriSchemeHttp && uri.Port == port && Names.Contains(uri.Host, StringComparer.OrdinalIgnoreCase);

    private static Task RefuseAsync(HttpContext context, string why)
    {
        context.Response.StatusCode = StatusCodes.Status403Forbidden;
        context.Response.ContentType = "text/plain; charset=utf-8";
        return context.Response.WriteAsync(why + "\n");
    }
}
