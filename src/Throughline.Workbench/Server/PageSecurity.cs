using System.Security.Cryptography;
using Microsoft.AspNetCore.Http;

namespace Throughline.Workbench.Server;

/// <summary>What a browser may do with a page: load from this server alone, run no script of a text, be in no other page's frame.</summary>
internal static class PageSecurity
{
    private const string NonceKey = "throughline.nonce";

    /// <summary>The word that lets the text editor's own style sheet in, other in every answer.</summary>
    public static string NonceOf(HttpContext context) => (string)context.Items[NonceKey]!;

    public static Task InvokeAsync(HttpContext context, RequestDelegate next)
    {
        string nonce = Convert.ToBase64String(RandomNumberGenerator.GetBytes(18));
        context.Items[NonceKey] = nonce;
        IHeaderDictionary headers = context.Response.Headers;
        headers.ContentSecurityPolicy =
            $"default-src 'none'; script-src 'self'; style-src 'self' 'nonce-{nonce}'; img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; "
            + "base-uri 'self'; form-action 'self'; frame-ancestors 'none'";
        headers.XContentTypeOptions = "nosniff";
        headers.XFrameOptions = "DENY";
        headers["Referrer-Policy"] = "no-referrer";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers.CacheControl = "no-store";
        return next(context);
    }
}
