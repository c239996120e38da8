namespace Throughline.Instruments;

/// <summary>Reads the user's parts files on top of the generic library.</summary>
internal static class LibraryReader
{
    public static PartsLibrary Read(MapNode root, SourceText source, DiagnosticSink sink, string? folder)
    {
        PartsLibrary library = PartsLibrary.Generic;
        if (folder is null)
        {
            return library;
        }

        string besides = Path.Combine(folder, InstrumentReader.PartsFileName);
        if (File.Exists(besides))
        {
            library = ReadFile(besides, Beside(source.Name, InstrumentReader.PartsFileName), library, sink);
        }

        foreach (ScalarNode named in root["parts files"] is ListNode list ? list.Items.OfType<ScalarNode>() : [])
        {
            if (named.Text.Length == 0 || named.Text == InstrumentReader.PartsFileName)
            {
                continue;
            }

            if (Resolve(folder, named.Text) is not { } path)
            {
                sink.Report(
                    Codes.FileRefused, named.Span, "A parts file lies in the folder of the instrument file or below it.", "a relative path inside the folder", named.Found);
            }
            else if (!File.Exists(path))
            {
                sink.Report(Codes.Missing, named.Span, $"There is no parts file `{ScalarNode.Short(named.Text)}`.", "a file beside the instrument file", named.Found);
            }
            else
            {
                library = ReadFile(path, Beside(source.Name, named.Text), library, sink);
            }
        }

        return library;
    }

    private static PartsLibrary ReadFile(string path, string name, PartsLibrary library, DiagnosticSink sink) =>
        SourceFile.Read(path, name, sink) is { } source && YamlReader.Read(source, sink) is { } root ? library.With(root, sink) : library;

    /// <summary>The name of a file beside another as the user would give it.</summary>
    private static string Beside(string name, string file) => Path.GetDirectoryName(name) is { Length: > 0 } folder ? Path.Combine(folder, file) : file;

    private static string? Resolve(string folder, string relative)
    {
        try
        {
            if (Path.IsPathRooted(relative))
            {
                return null;
            }

            string full = Path.GetFullPath(Path.Combine(folder, relative));
            return full.StartsWith(Path.GetFullPath(folder) + Path.DirectorySeparatorChar, StringComparison.Ordinal) ? full : null;
        }
        catch (ArgumentException)
        {
            return null;
        }
    }
}
