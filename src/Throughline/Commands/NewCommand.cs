using System.CommandLine;
using System.Reflection;
using System.Text;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>new FOLDER</c>: an instrument to start from. Nothing that exists is touched.</summary>
internal static class NewCommand
{
    /// <summary>What is written, in this order.</summary>
    public static IReadOnlyList<string> Files { get; } = ["instrument.yaml", "parts.yaml"];

    public static Command Create(Surroundings surroundings)
    {
        Argument<string> folder = new(Words.Folder) { Description = "A folder, made when it is not there.", HelpName = Words.Folder };
        Option<bool> json = Words.Json();
        Command command = new("new", "Write an instrument to start from into a folder; nothing is overwritten.") { folder, json };
        command.SetAction(parsed => Run(surroundings, parsed.GetRequiredValue(folder), parsed.GetValue(json)));
        return command;
    }

    /// <summary>The text of a file as it will be written.</summary>
    public static string Template(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("templates/" + name)
            ?? throw new InvalidOperationException($"The program was built without its template {name}.");
        using StreamReader reader = new(stream, Encoding.UTF8);
        return reader.ReadToEnd();
    }

    private static int Run(Surroundings surroundings, string folder, bool asJson)
    {
        string[] paths = [.. Files.Select(name => Path.Combine(folder, name))];
        string? mistake = TryWrite(folder, paths);
        if (mistake is not null)
        {
            Page.ForError(surroundings).Line("throughline: " + mistake);
            return ExitCode.Unreadable;
        }

        if (asJson)
        {
            Documents.Write(surroundings, new FilesDocument { Folder = folder, Files = [.. paths] });
            return ExitCode.AllMet;
        }

        Page page = Page.ForOutput(surroundings);
        foreach (string path in paths)
        {
            page.Line("written  " + path);
        }

        page.Line();
        page.Line("Next: throughline check " + (paths[0].Contains(' ', StringComparison.Ordinal) ? $"'{paths[0]}'" : paths[0]));
        return ExitCode.AllMet;
    }

    /// <summary>Writes all files or none; returns what is in the way.</summary>
    private static string? TryWrite(string folder, string[] paths)
    {
        if (folder.Length == 0)
        {
            return "the folder has no name.";
        }

        if (paths.FirstOrDefault(Path.Exists) is string existing)
        {
            return $"{existing} exists already, and new overwrites nothing; name another folder.";
        }

        List<string> written = [];
        try
        {
            Directory.CreateDirectory(folder);
            foreach ((string path, string name) in paths.Zip(Files))
            {
                // CreateNew fails where somebody else was faster, so nothing is ever replaced.
                using FileStream file = new(path, FileMode.CreateNew, FileAccess.Write);
                written.Add(path);
                file.Write(Encoding.UTF8.GetBytes(Template(name)));
            }

            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            written.ForEach(File.Delete);
            return $"{folder} cannot be written: {e.Message}";
        }
    }
}
