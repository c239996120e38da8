using System.IO.Compression;
using System.Text;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;
using Throughline.Firmware;
using Throughline.Workbench.Pages;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Server;

/// <summary>What can be kept as a file and is made by the server: only of instruments of the opened folder, and never written there.</summary>
internal static class Downloads
{
    /// <summary>Every entry of an archive has this time, so that equal code is an equal archive.</summary>
    private static readonly DateTimeOffset Epoch = new(1980, 1, 1, 0, 0, 0, TimeSpan.Zero);

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapGet("/download/firmware", Firmware);
        routes.MapGet("/download/review", ReviewAsync);
    }

    private static async Task<IResult> ReviewAsync(string? file, Workspace workspace, CancellationToken cancel) =>
        file is not null && workspace.Open(file) is { } session && await ReviewDocument.WriteAsync(workspace, session, cancel) is { } page
            ? Results.Bytes(Encoding.UTF8.GetBytes(page), "text/html; charset=utf-8", "review.html")
            : Results.NotFound();

    private static IResult Firmware(string? file, string? part, Workspace workspace)
    {
        if (file is null || workspace.Open(file)?.State.Followed is not { } followed || FirmwareCode.Of(followed.Instrument) is not { Files.IsEmpty: false } code)
        {
            return Results.NotFound();
        }

        if (part is not null)
        {
            return code.Files.FirstOrDefault(f => f.Name == part) is { } one
                ? Results.Bytes(Encoding.UTF8.GetBytes(one.Text), "application/octet-stream", one.Name)
                : Results.NotFound();
        }

        using MemoryStream stream = new();
        using (ZipArchive archive = new(stream, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach (GeneratedFile generated in code.Files)
            {
                ZipArchiveEntry entry = archive.CreateEntry(generated.Name);
                entry.LastWriteTime = Epoch;
                using Stream into = entry.Open();
                into.Write(Encoding.UTF8.GetBytes(generated.Text));
            }
        }

        return Results.Bytes(stream.ToArray(), "application/zip", "firmware.zip");
    }
}
