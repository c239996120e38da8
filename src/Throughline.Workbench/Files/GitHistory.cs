using System.Collections.Immutable;
using System.Diagnostics;
using System.Text;
using System.Text.RegularExpressions;

namespace Throughline.Workbench.Files;

/// <summary>One kept revision of a file.</summary>
/// <param name="Id">The commit.</param>
/// <param name="Day">Year, month and day of it.</param>
/// <param name="Subject">Its first line.</param>
public sealed record KeptRevision(string Id, string Day, string Subject);

/// <summary>Reads what git keeps of a file, where there is a git and a repository. Nothing is written, and nothing that the repository's own settings name is run.</summary>
public static partial class GitHistory
{
    private const int MostRevisions = 60;
    private const int MostBytes = 1 << 20;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    /// <summary>The file's revisions, the newest first; none where there is nothing to read.</summary>
    /// <param name="path">Full path of the file.</param>
    public static async Task<ImmutableArray<KeptRevision>> OfAsync(string path, CancellationToken cancel = default)
    {
        string? text = await RunAsync(path, cancel, "log", $"--max-count={MostRevisions}", "--no-show-signature", "--no-color", "--date=short", "--format=%H%x09%ad%x09%s", "--", Path.GetFileName(path));
        return text is null ? [] :
        [
            .. text.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => line.Split('\t', 3)).Where(p => p.Length == 3 && Id().IsMatch(p[0]))
                .Select(p => new KeptRevision(p[0], p[1], p[2])),
        ];
    }

    /// <summary>The file's text at a revision; null where there is none.</summary>
    /// <param name="id">As <see cref="KeptRevision.Id"/>.</param>
    public static Task<string?> TextAsync(string path, string id, CancellationToken cancel = default) =>
        Id().IsMatch(id) ? RunAsync(path, cancel, "cat-file", "blob", $"{id}:./{Path.GetFileName(path)}") : Task.FromResult<string?>(null);

    private static async Task<string?> RunAsync(string path, CancellationToken cancel, params string[] words)
    {
        ProcessStartInfo start = new("git")
        {
            WorkingDirectory = Path.GetDirectoryName(path)!,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
            UseShellExecute = false,
            StandardOutputEncoding = Encoding.UTF8,
        };
        start.Environment["GIT_TERMINAL_PROMPT"] = "0";
        start.Environment["GIT_OPTIONAL_LOCKS"] = "0";
        foreach (string word in (string[])["--no-pager", "-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", "-c", "log.showSignature=false", .. words])
        {
            start.ArgumentList.Add(word);
        }

        try
        {
            using Process process = Process.Start(start)!;
            process.StandardInput.Close();
            using CancellationTokenSource late = CancellationTokenSource.CreateLinkedTokenSource(cancel);
            late.CancelAfter(Patience);
            try
            {
                Task<string> error = process.StandardError.ReadToEndAsync(late.Token);
                string text = await ReadAsync(process.StandardOutput, late.Token);
                await process.WaitForExitAsync(late.Token);
                await error;
                return process.ExitCode == 0 && text.Length <= MostBytes ? text : null;
            }
            catch (OperationCanceledException)
            {
                process.Kill(entireProcessTree: true);
                return null;
            }
        }
        catch (Exception e) when (e is System.ComponentModel.Win32Exception or InvalidOperationException or IOException)
        {
            // No git here.
            return null;
        }
    }

    /// <summary>Reads to the end, but keeps no more than a file may have.</summary>
    private static async Task<string> ReadAsync(StreamReader reader, CancellationToken cancel)
    {
        StringBuilder text = new();
        char[] buffer = new char[1 << 14];
        int read;
        while ((read = await reader.ReadAsync(buffer, cancel)) > 0)
        {
            if (text.Length <= MostBytes)
            {
                text.Append(buffer, 0, read);
            }
        }

        return text.ToString();
    }

    [GeneratedRegex("^[0-9a-f]{40,64}$", RegexOptions.CultureInvariant)]
    private static partial Regex Id();
}
