using System.Text;

namespace Throughline.Workbench.Files;

/// <summary>Reads and replaces a text file whole or not at all.</summary>
internal static class SafeFile
{
    /// <summary>The most that is read, as of an instrument file.</summary>
    private const int MostBytes = 1 << 20;

    /// <summary>The text; null when it can't be read, is too large or is no UTF-8.</summary>
    public static string? TryRead(string path)
    {
        try
        {
            FileInfo info = new(path);
            return info.Length > MostBytes ? null : new UTF8Encoding(false, throwOnInvalidBytes: true).GetString(Unmarked(File.ReadAllBytes(path)));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return null;
        }
    }

    /// <summary>Replaces a file's text: a new file beside it takes its place in one step.</summary>
    /// <returns>Null, or what was in the way.</returns>
    public static string? TryReplace(string path, string text)
    {
        string? beside = null;
        try
        {
            string folder = Path.GetDirectoryName(path)!;
            beside = Path.Combine(folder, $".{Path.GetFileName(path)}.{Path.GetRandomFileName()}");
            using (FileStream stream = new(beside, FileMode.CreateNew, FileAccess.Write))
            {
                stream.Write(Encoding.UTF8.GetBytes(text));
                stream.Flush(flushToDisk: true);
            }

            if (!OperatingSystem.IsWindows() && File.Exists(path))
            {
                File.SetUnixFileMode(beside, File.GetUnixFileMode(path));
            }

            File.Move(beside, path, overwrite: true);
            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            if (beside is not null)
            {
                Remove(beside);
            }

            return e.Message;
        }
    }

    private static void Remove(string path)
    {
        try
        {
            File.Delete(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            // It was not made, or the disk is gone; the file itself is as it was.
        }
    }

    private static ReadOnlySpan<byte> Unmarked(byte[] bytes) => bytes.AsSpan(bytes.AsSpan().StartsWith(Encoding.UTF8.Preamble) ? 3 : 0);
}
