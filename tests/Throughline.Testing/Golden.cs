using System.Text;

namespace Throughline.Testing;

/// <summary>Whole outputs that the tests hold byte for byte.</summary>
public static class Golden
{
    /// <summary>Compares a text with its golden file; with <c>THROUGHLINE_REWRITE_GOLDEN=1</c> writes the file instead, whose change is then reviewed.</summary>
    /// <param name="path">The file, below the root of the working copy.</param>
    /// <param name="actual">What the program wrote.</param>
    /// <returns>Null when they agree, else a sentence and the first line that differs.</returns>
    public static string? Difference(string path, string actual)
    {
        string file = Repository.PathOf(path);
        if (Environment.GetEnvironmentVariable("THROUGHLINE_REWRITE_GOLDEN") == "1")
        {
            Directory.CreateDirectory(Path.GetDirectoryName(file)!);
            File.WriteAllText(file, actual, new UTF8Encoding(false));
            return null;
        }

        if (!File.Exists(file))
        {
            return $"{path} is missing; THROUGHLINE_REWRITE_GOLDEN=1 writes it. The output is:\n{actual}";
        }

        string expected = File.ReadAllText(file, new UTF8Encoding(false));
        if (expected == actual)
        {
            return null;
        }

        string[] expectedLines = expected.Split('\n');
        string[] actualLines = actual.Split('\n');
        int line = 0;
        while (line < expectedLines.Length && line < actualLines.Length && expectedLines[line] == actualLines[line])
        {
            line++;
        }

        string At(string[] lines) => line < lines.Length ? lines[line] : "(end)";
        return $"{path} differs at line {line + 1}; THROUGHLINE_REWRITE_GOLDEN=1 rewrites it.\nfile:   {At(expectedLines)}\noutput: {At(actualLines)}";
    }
}
