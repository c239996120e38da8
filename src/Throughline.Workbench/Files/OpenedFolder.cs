using System.Collections.Immutable;
using System.Text;
using System.Text.RegularExpressions;

namespace Throughline.Workbench.Files;

/// <summary>The folder that the workbench was opened on. Whatever a page names is looked for in it, and nothing that leads out of it is found.</summary>
public sealed partial class OpenedFolder
{
    private const int MostFiles = 5_000;
    private const int Deepest = 6;
    private const int HeadBytes = 4_096;

    private readonly string _root;

    /// <exception cref="DirectoryNotFoundException">There is no such folder.</exception>
    public OpenedFolder(string folder)
    {
        string full = Path.GetFullPath(folder);
        if (!Directory.Exists(full))
        {
            throw new DirectoryNotFoundException($"there is no folder {folder}");
        }

        _root = Real(full) ?? throw new DirectoryNotFoundException($"the folder {folder} can't be opened");
        Name = Path.GetFileName(Path.TrimEndingDirectorySeparator(_root)) is { Length: > 0 } name ? name : _root;
    }

    /// <summary>Its own name, without the way to it.</summary>
    public string Name { get; }

    /// <summary>Instrument files in it, by name, with <c>/</c> between folders. Folders that begin with a dot are left out.</summary>
    public ImmutableArray<string> Instruments()
    {
        List<string> found = [];
        int looked = 0;
        Queue<(string Path, int Depth)> folders = new([(_root, 0)]);
        while (folders.TryDequeue(out (string Path, int Depth) folder) && looked < MostFiles)
        {
            foreach (FileSystemInfo entry in Entries(folder.Path))
            {
                if (++looked > MostFiles)
                {
                    break;
                }

                if (entry.Name.StartsWith('.'))
                {
                    continue;
                }

                if (entry is DirectoryInfo && entry.LinkTarget is null && folder.Depth < Deepest)
                {
                    folders.Enqueue((entry.FullName, folder.Depth + 1));
                }
                else if (entry is FileInfo && entry.Extension is ".yaml" or ".yml")
                {
                    string name = Path.GetRelativePath(_root, entry.FullName).Replace(Path.DirectorySeparatorChar, '/');
                    if (Find(name) is { } full && IsInstrument(full))
                    {
                        found.Add(name);
                    }
                }
            }
        }

        found.Sort(StringComparer.Ordinal);
        return [.. found];
    }

    /// <summary>What an instrument file says its name is; null when its head does not say it.</summary>
    public string? Title(string name) => Find(name) is { } path && TitleLine().Match(Head(path)) is { Success: true } match ? match.Groups[1].Value.Trim().Trim('"', '\'') : null;

    /// <summary>Whether something is there of a name, whatever it is.</summary>
    public bool IsTaken(string name) => PathOf(name) is { } path && Path.Exists(path);

    /// <summary>The full path of a file in the folder; null when there is none, when it is no plain file, or when the name leads out of the folder.</summary>
    /// <param name="name">With <c>/</c> between folders.</param>
    public string? Find(string name)
    {
        if (PathOf(name) is not { } path || !File.Exists(path) || Real(path) is not { } real || !IsInside(real))
        {
            return null;
        }

        FileAttributes attributes = File.GetAttributes(real);
        return (attributes & (FileAttributes.Directory | FileAttributes.Device)) == 0 ? real : null;
    }

    /// <summary>Where a new file or folder of the name would be; null when something is there, when the name is none, or when it leads out of the folder.</summary>
    public string? Free(string name) =>
        PathOf(name) is { } path && !Path.Exists(path) && Path.GetDirectoryName(path) is { } parent && Real(parent) is { } real && IsInside(real) ? path : null;

    private string? PathOf(string name)
    {
        string[] pieces = name.Split('/');
        bool isName = name.Length is > 0 and <= 1_024
            && pieces.All(p => p.Length > 0 && p is not ("." or "..") && !p.Any(c => char.IsControl(c) || c is '\\' or ':'));
        return isName ? Path.Combine([_root, .. pieces]) : null;
    }

    private bool IsInside(string real) => real == _root || real.StartsWith(Path.TrimEndingDirectorySeparator(_root) + Path.DirectorySeparatorChar, StringComparison.Ordinal);

    /// <summary>The path with every link on the way followed; null where that fails.</summary>
    private static string? Real(string path)
    {
        try
        {
            string real = Path.GetPathRoot(path)!;
            Queue<string> pieces = new(path[real.Length..].Split(Path.DirectorySeparatorChar, StringSplitOptions.RemoveEmptyEntries));
            for (int steps = 0; pieces.TryDequeue(out string? piece); steps++)
            {
                if (steps > 256)
                {
                    return null;
                }

                string next = Path.Combine(real, piece);
                FileSystemInfo info = Directory.Exists(next) ? new DirectoryInfo(next) : new FileInfo(next);
                if (info.LinkTarget is { } target)
                {
                    string full = Path.GetFullPath(target, real);
                    real = Path.GetPathRoot(full)!;
                    pieces = new Queue<string>([.. full[real.Length..].Split(Path.DirectorySeparatorChar, StringSplitOptions.RemoveEmptyEntries), .. pieces]);
                    continue;
                }

                real = next;
            }

            return real;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return null;
        }
    }

    private static FileSystemInfo[] Entries(string folder)
    {
        try
        {
            return [.. new DirectoryInfo(folder).EnumerateFileSystemInfos().Take(MostFiles).OrderBy(e => e.Name, StringComparer.Ordinal)];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }

    /// <summary>Whether a file's head has the key that every instrument file has.</summary>
    private static bool IsInstrument(string path) => Head(path) is var text && (text.StartsWith("instrument:", StringComparison.Ordinal) || text.Contains("\ninstrument:", StringComparison.Ordinal));

    /// <summary>The beginning of a file's text; empty when it can't be read.</summary>
    private static string Head(string path)
    {
        try
        {
            using FileStream stream = File.OpenRead(path);
            byte[] head = new byte[HeadBytes];
            int length = stream.ReadAtLeast(head, HeadBytes, throwOnEndOfStream: false);
            return Encoding.UTF8.GetString(head, 0, length);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return "";
        }
    }

    /// <summary>The line with the instrument's name, without a comment behind it.</summary>
    [GeneratedRegex(@"^instrument:[ \t]+(\S[^\r\n]*?)[ \t]*(?:[ \t]#[^\r\n]*)?\r?$", RegexOptions.Multiline)]
    private static partial Regex TitleLine();
}
