using System.Collections.Frozen;
using System.Reflection;
using System.Security.Cryptography;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;

namespace Throughline.Workbench.Server;

/// <summary>The files that a page loads, from inside the assembly. Their addresses hold their digest, so that a browser keeps them and never has an old one.</summary>
internal static class PageFiles
{
    private const string Prefix = "assets/";

    private static readonly FrozenDictionary<string, (byte[] Bytes, string Digest)> All = Load();

    private static readonly FrozenDictionary<string, string> Types = new Dictionary<string, string>
    {
        [".css"] = "text/css; charset=utf-8",
        [".js"] = "text/javascript; charset=utf-8",
        [".svg"] = "image/svg+xml",
        [".ttf"] = "font/ttf",
        [".txt"] = "text/plain; charset=utf-8",
        [".woff2"] = "font/woff2",
    }.ToFrozenDictionary();

    /// <summary>The digest of all of them: one word in every address.</summary>
    public static string Version { get; } = Convert.ToHexStringLower(SHA256.HashData([.. All.OrderBy(a => a.Key, StringComparer.Ordinal).SelectMany(a => Convert.FromHexString(a.Value.Digest))]))[..12];

    /// <summary>The address of a file.</summary>
    public static string AddressOf(string name) => $"/assets/{Version}/{name}";

    /// <summary>A file itself.</summary>
    /// <exception cref="KeyNotFoundException">There is none of that name.</exception>
    public static byte[] BytesOf(string name) => All[name].Bytes;

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet("/assets/{version}/{**name}", (string name, HttpContext context) => Serve(name, context, isKept: true));
        routes.MapGet("/_framework/blazor.web.js", (HttpContext context) => Serve("blazor.web.js", context, isKept: false));
        routes.MapGet("/favicon.ico", () => Results.NotFound());
    }

    private static IResult Serve(string name, HttpContext context, bool isKept)
    {
        if (!All.TryGetValue(name, out (byte[] Bytes, string Digest) asset))
        {
            return Results.NotFound();
        }

        context.Response.Headers.CacheControl = isKept ? "public, max-age=31536000, immutable" : "no-cache";
        return Results.Bytes(asset.Bytes, Types.GetValueOrDefault(Path.GetExtension(name), "application/octet-stream"), entityTag: new($"\"{asset.Digest}\""));
    }

    private static FrozenDictionary<string, (byte[] Bytes, string Digest)> Load()
    {
        Dictionary<string, (byte[], string)> all = [];
        Assembly assembly = typeof(PageFiles).Assembly;
        foreach (string resource in assembly.GetManifestResourceNames().Where(n => n.StartsWith(Prefix, StringComparison.Ordinal)))
        {
            using Stream stream = assembly.GetManifestResourceStream(resource)!;
            byte[] bytes = new byte[stream.Length];
            stream.ReadExactly(bytes);
            all[resource[Prefix.Length..]] = (bytes, Convert.ToHexStringLower(SHA256.HashData(bytes)));
        }

        return all.ToFrozenDictionary();
    }
}
